//! A mix asked for on the command line: so many trays, or a volume, without a file.

use super::load::{Inputs, Loader};
use super::sowing::Names;
use super::{Loaded, MOST_CELLS, Place, Sowing, Week};
use crate::catalogue::{Crop, Handle, Tray};
use crate::diagnostic::{Problems, Rejected, SourceText, Span};
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

impl Inputs<'_> {
    /// Checks a request.
    ///
    /// # Errors
    /// [`Rejected`] with every fault of the command line and of the recipe file.
    pub fn request(&self, request: &Request<'_>) -> Result<Requested, Rejected> {
        let mut loader = Loader::new(*self, PathBuf::new())?;
        loader.gather_recipe(request.recipe.trim());
        let nowhere = Problems::new(SourceText::argument("--stock", ""));
        let stock = loader.stock(None, &nowhere);
        let recipe = argument(&mut loader, "RECIPE", request.recipe, |loader, text, at, problems| {
            loader.recipe_named(text, at, problems)
        });
        let crop = request.crop.map(|crop| {
            argument(&mut loader, "--crop", crop, |loader, text, at, problems| loader.crop(text, at, problems))
        });
        let make = request.make.map(|make| {
            argument(&mut loader, "--make", make, |_, text, at, problems| {
                problems.measured(at, volume(text), "a volume such as `60 L`")
            })
        });
        let crop = crop.flatten();
        let trays = request.trays.iter().filter_map(|text| {
            let (tray, trays) = argument(&mut loader, "--tray", text, read_tray)?;
            let source = SourceText::argument("--tray", text);
            let place = Place { span: source.whole(), source };
            Some(Sowing::of_trays(crop.clone(), tray, trays, recipe?, place))
        });
        let sowings: Vec<Sowing> = trays.collect();
        let recipes = std::mem::take(&mut loader.recipes);
        let wanted = loader.wanted(&[], &recipes, &nowhere);
        let name = recipes.first().map(|recipe| recipe.name.clone()).unwrap_or_default();
        loader.remark_on(&recipes, &sowings);
        let week = Week { from_command: true, recipes, wanted, sowings, stock, ..Week::of_name(&name) };
        Ok(Requested { loaded: loader.finish(week)?, make: make.flatten(), crop })
    }
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
fn read_tray(loader: &mut Loader<'_>, text: &str, _: Span, problems: &Problems) -> Option<(Handle<Tray>, u64)> {
    let (kind, number) = text.rsplit_once('=').unwrap_or((text, "1"));
    let tray = loader.tray(kind.trim(), Span::new(0, kind.len()), problems);
    let at = Span::new((kind.len() + 1).min(text.len()), text.len());
    let trays = match count(number) {
        Ok(0) => Err(Fault::Zero(number.to_owned())),
        Ok(trays) if trays > MOST_CELLS => Err(Fault::TooLarge(number.to_owned())),
        read => read,
    };
    let trays = problems.quantity(at, trays, "a number of trays, as in `72-cell=4`");
    tray.zip(trays)
}
