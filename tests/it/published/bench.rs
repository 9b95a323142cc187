//! Small helpers: load a text, plan it, look an amount up by its name.

use std::path::Path;
use trayful::catalogue::Catalogue;
use trayful::plan::{Batch, Plan, plan, plan_for};
use trayful::source::Memory;
use trayful::units::mass::gram;
use trayful::units::{Mass, Quantity, Volume};
use trayful::week::{Inputs, Loaded, Request, load};

/// Within one part in so many.
#[track_caller]
pub fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got} is not {wanted} to {relative}");
}

/// The number as a book prints it, with so many decimals.
pub fn printed(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}")
}

/// A volume as written.
#[track_caller]
pub fn volume(text: &str) -> Volume {
    trayful::units::volume(text).unwrap_or_else(|fault| panic!("{text}: {fault}")).value
}

/// A checked week of one text.
#[track_caller]
pub fn week(text: &str) -> Loaded {
    load(Path::new("week.yaml"), &Memory::default().with("week.yaml", text), &[])
        .unwrap_or_else(|rejected| panic!("{rejected}"))
}

/// The plan of a week of one text.
#[track_caller]
pub fn planned(text: &str) -> (Plan, Loaded) {
    let loaded = week(text);
    let plan = plan(&loaded).unwrap_or_else(|rejected| panic!("{rejected}"));
    (plan, loaded)
}

/// One mix, made up to a volume.
pub struct Mix {
    pub plan: Plan,
    pub loaded: Loaded,
}

/// So much finished mix of a recipe, of the user's own text or built in.
#[track_caller]
pub fn make(recipe: &str, volume: &str, wanted: &[&str]) -> Mix {
    let own = recipe.contains('\n');
    let files = if own { Memory::default().with("own.yaml", recipe) } else { Memory::default() };
    let wanted: Vec<String> = wanted.iter().map(|name| (*name).to_owned()).collect();
    let name = if own { "own.yaml" } else { recipe };
    let request = Request { recipe: name, trays: &[], make: Some(volume), crop: None };
    let inputs = Inputs { wanted: &wanted, ..Inputs::new(&files) };
    let requested = inputs.request(&request).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = plan_for(&requested.loaded, requested.make.map(|mix| (mix, requested.crop.as_ref())), true).unwrap();
    Mix { plan, loaded: requested.loaded }
}

impl Mix {
    fn batch(&self) -> &Batch {
        let [batch] = &self.plan.mixes.batches[..] else { panic!("one batch") };
        batch
    }

    /// Loose volume of an ingredient.
    #[track_caller]
    pub fn loose(&self, name: &str) -> Volume {
        let found = self.batch().ingredients.iter().find(|part| part.ingredient.name == name);
        found.unwrap_or_else(|| panic!("no {name}")).loose
    }

    /// A dose by weight.
    #[track_caller]
    pub fn mass(&self, name: &str) -> Mass {
        let Quantity::Mass(mass) = self.dose(name) else { panic!("{name} is no weight") };
        mass
    }

    /// A dose by weight, in grams.
    #[track_caller]
    pub fn grams(&self, name: &str) -> f64 {
        self.mass(name).get::<gram>()
    }

    /// A dose by measure.
    #[track_caller]
    pub fn measure(&self, name: &str) -> Volume {
        let Quantity::Volume(volume) = self.dose(name) else { panic!("{name} is no measure") };
        volume
    }

    #[track_caller]
    fn dose(&self, name: &str) -> Quantity {
        let found = self.batch().doses.iter().find(|dose| dose.ingredient.name == name);
        found.unwrap_or_else(|| panic!("no {name}")).amount
    }
}

/// The tables that ship.
pub fn catalogue() -> Catalogue {
    Catalogue::built_in()
}
