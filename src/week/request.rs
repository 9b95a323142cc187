//! A mix asked for on the command line: so many trays, or a volume, without a file.

use super::loader::{Inputs, Loaded, Loader};
use super::sowing::usual_seeds;
use super::terms::Terms;
use super::{MOST_CELLS, Place, RecipeId, Sowing, SowingAmount, Week};
use crate::catalogue::{Crop, Handle};
use crate::diagnostic::{Problems, Rejected, SourceText, Span};
use crate::source::{FromNode, Node, Value, figures, value};
use crate::units::{Volume, count_up_to};
use std::path::PathBuf;
use std::sync::Arc;

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
}

/// A request, checked.
#[derive(Debug)]
pub struct Requested {
    /// A week with a sowing for each kind of tray; none for a volume.
    pub loaded: Loaded,
    /// The volume of finished mix, if one was asked for.
    pub make: Option<Volume>,
    /// The crop it is for.
    pub crop: Option<Handle<Crop>>,
}

figures! {
    /// A number of trays.
    Trays(u32): "a number of trays, as in `72-cell=4`", text => count_up_to::<u32>(MOST_CELLS, text);
}

impl Inputs<'_> {
    /// Checks a request.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of the command line and of the recipe file.
    pub fn request(&self, request: &Request<'_>) -> Result<Requested, Rejected> {
        self.request_beside(request, None)
    }

    /// The same with another recipe beside it.
    ///
    /// # Errors
    /// As for [`Self::request`].
    pub fn request_beside(&self, request: &Request<'_>, other: Option<&str>) -> Result<Requested, Rejected> {
        let mut loader = Loader::new(*self, PathBuf::new());
        let place = loader.place_named();
        let place = place.and_then(|place| loader.whole_place(&place, false));
        let is_at_place = place.is_some();
        let (mut bench, written) = place.unwrap_or_default();
        if let Some(taken) = &mut bench.standing.taken {
            taken.keys.retain(|key| key != "recipe" && (key != "stock" || self.stock.is_none()));
        }
        [Some(request.recipe), other].into_iter().flatten().for_each(|recipe| loader.gather_recipe(recipe.trim()));
        let nowhere = Problems::new(SourceText::argument("--stock", ""));
        let stock = if is_at_place { bench.stock.take() } else { loader.stock(None, &nowhere) };
        loader.rim = bench.allowances.rim;
        let recipe = loader.argument("RECIPE", request.recipe, Loader::recipe);
        other.and_then(|other| loader.argument("--with", other, Loader::recipe));
        let crop = request.crop.and_then(|crop| loader.argument("--crop", crop, Loader::crop));
        let make = request
            .make
            .and_then(|make| loader.argument("--make", make, |_, node, problems| Volume::from_node(node, problems)));
        let trays = request.trays.iter();
        let sowings: Vec<Sowing> = trays.filter_map(|text| loader.trays(text, crop.clone(), recipe)).collect();
        let recipes = std::mem::take(&mut loader.recipes);
        // What a place wants is for recipes that offer it.
        let offered = |(id, _): &(Handle<_>, _)| recipes.iter().any(|recipe| recipe.offers(id));
        let written: Vec<_> = written.into_iter().filter(offered).collect();
        let wanted = loader.wanted(&written, &recipes, &nowhere);
        let name = recipes.first().map(|recipe| recipe.name.clone()).unwrap_or_default();
        loader.remark_on(&recipes, &sowings);
        let week = Week { from_command: true, recipes, wanted, sowings, stock, name, ..bench };
        Ok(Requested { loaded: loader.loaded(week)?, make, crop })
    }
}

impl Loader<'_> {
    /// Reads one argument as a text of its own, so that faults point into it.
    pub(super) fn argument<T>(
        &mut self,
        name: &str,
        text: &str,
        read: impl FnOnce(&mut Self, &Node<'_>, &Problems) -> Option<T>,
    ) -> Option<T> {
        let source = SourceText::argument(name, text);
        let node = Node { at: source.whole(), value: Value::Text(text.into()) };
        let problems = Problems::new(source);
        let value = read(self, &node, &problems);
        self.settle(problems, value)
    }

    /// Reads `72-cell=4`, whole trays of which nothing else is said; a kind alone is one tray.
    fn trays(&mut self, text: &str, crop: Option<Handle<Crop>>, recipe: Option<RecipeId>) -> Option<Sowing> {
        let (tray, trays) = self.argument("--tray", text, |loader, _, problems| {
            let (kind, number) = text.rsplit_once('=').unwrap_or((text, "1"));
            let tray = loader.catalogue.tray_named(kind.trim(), Span::new(0, kind.len()), problems);
            let at = Span::new((kind.len() + 1).min(text.len()), text.len());
            tray.map(|tray| loader.below_rim(&tray)).zip(value(number, at, problems))
        })?;
        let (source, Trays(trays)) = (SourceText::argument("--tray", text), trays);
        Some(Sowing {
            variety: None,
            tray,
            amount: SowingAmount::Trays(trays),
            terms: Arc::new(Terms { seeds: usual_seeds(crop.as_ref(), false), ..Terms::default() }),
            recipe: recipe?,
            place: Place::new(Arc::clone(&source), source.whole()),
            crop,
        })
    }
}
