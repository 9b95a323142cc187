//! A mix asked for on the command line: so many trays, or a volume, without a file.

use super::load::Loader;
use super::{Allowances, Amount, Fill, Loaded, MOST_CELLS, Place, Sowing, Week};
use crate::catalogue::{Catalogue, CropId, TrayId};
use crate::diagnostic::{Problems, Rejected, SourceText, Span};
use crate::source::Files;
use crate::units::{Fault, Volume, count, volume};
use std::path::PathBuf;

/// What is asked for, as written.
#[derive(Clone, Copy, Debug)]
pub struct Request<'r> {
    /// A recipe by name, or a recipe file.
    pub recipe: &'r str,
    /// Trays as `KIND=N`.
    pub trays: &'r [String],
    /// A volume of finished mix, in place of trays.
    pub make: Option<&'r str>,
    /// The crop it is for.
    pub crop: Option<&'r str>,
    /// Ingredients wanted where the recipe offers a choice.
    pub wanted: &'r [String],
}

/// A request, checked.
#[derive(Debug)]
pub struct Requested {
    /// A week with a sowing for each kind of tray; none for a volume.
    pub loaded: Loaded,
    /// The volume of finished mix, if one was asked for.
    pub make: Option<Volume>,
    /// The crop it is for.
    pub crop: Option<CropId>,
}

/// Checks a request.
///
/// # Errors
/// [`Rejected`] with every fault of the command line and of the recipe file.
pub fn from_request(request: &Request<'_>, files: &dyn Files) -> Result<Requested, Rejected> {
    let mut loader = Loader::new(files, PathBuf::new(), Catalogue::built_in()?);
    let recipe = argument(&mut loader, "RECIPE", request.recipe, |loader, text, at, problems| {
        loader.recipe_named(text, at, problems)
    });
    let crop = request.crop.map(|crop| {
        argument(&mut loader, "--crop", crop, |loader, text, at, problems| {
            super::sowing::Names::crop(loader, text, at, problems)
        })
    });
    let make = request.make.map(|make| {
        argument(&mut loader, "--make", make, |_, text, at, problems| {
            problems.measured(at, volume(text), "a volume such as `60 L`")
        })
    });
    let crop = crop.flatten();
    let sowings: Vec<Sowing> = request
        .trays
        .iter()
        .filter_map(|text| {
            let (tray, trays) = argument(&mut loader, "--tray", text, read_tray)?;
            let source = SourceText::argument("--tray", text);
            Some(Sowing {
                crop,
                variety: None,
                tray,
                amount: Amount::Trays(trays),
                germination: None,
                usable: None,
                surety: None,
                seeds: 1,
                clump: false,
                inoculant: None,
                share: true,
                fill: None,
                recipe: recipe?,
                place: Place { span: source.whole(), source },
            })
        })
        .collect();
    let nowhere = Problems::new(SourceText::argument("--use", ""));
    let recipes = loader.take_recipes();
    let wanted = loader.wanted(&[], request.wanted, &recipes, &nowhere);
    let name = recipes.first().map(|recipe| recipe.name.clone()).unwrap_or_default();
    loader.remark_on(&recipes, &sowings);
    let week = Week {
        name,
        asked: true,
        mix_on: None,
        recipes,
        wanted,
        sowings,
        allowances: Allowances::default(),
        fill: Fill::WholeTrays,
        tub: None,
        scoop: None,
        rack: None,
        soak: None,
        stock: None,
    };
    Ok(Requested { loaded: loader.finish(week)?, make: make.flatten(), crop })
}

/// Reads one argument as a text of its own, so that faults point into it.
fn argument<T>(
    loader: &mut Loader<'_>,
    name: &str,
    text: &str,
    read: impl FnOnce(&mut Loader<'_>, &str, Span, &Problems) -> Option<T>,
) -> Option<T> {
    let source = SourceText::argument(name, text);
    let at = source.whole();
    let problems = Problems::new(source);
    let value = read(loader, text, at, &problems);
    loader.settle(problems, value)
}

/// `72-cell=4`; a kind alone is one tray.
fn read_tray(loader: &mut Loader<'_>, text: &str, _: Span, problems: &Problems) -> Option<(TrayId, u64)> {
    let (kind, number) = text.rsplit_once('=').unwrap_or((text, "1"));
    let tray = super::sowing::Names::tray(loader, kind.trim(), Span::new(0, kind.len()), problems);
    let at = Span::new((kind.len() + 1).min(text.len()), text.len());
    let trays = match count(number) {
        Ok(0) => Err(Fault::Zero(number.to_owned())),
        Ok(trays) if trays > MOST_CELLS => Err(Fault::TooLarge(number.to_owned())),
        read => read,
    };
    let trays = problems.quantity(at, trays, "a number of trays, as in `72-cell=4`");
    tray.zip(trays)
}
