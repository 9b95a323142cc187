//! `trayful list` and `trayful show`

use super::args::{ListArgs, ShowArgs};
use super::{Failure, Session, said};
use crate::behaviour::Behaviour;
use crate::catalogue::{Catalogue, Crop, Doubt, Handle, Ingredient, fuller_names};
use crate::coir::soak::salts;
use crate::diagnostic::{Code, Rejected, Span};
use crate::plan::salts_of_coir;
use crate::printable::within_a_line;
use crate::recipe::{BUILT_IN, Composition, MixFor, Recipe, Work};
use crate::report::{self, BehaviourReport, KINDS, Listing, MixInTrays};
use crate::source::is_yaml;
use crate::spelling::slips;
use crate::week::{Inputs, Loaded, Request, Requested};
use std::path::Path;

pub(super) fn list(args: &ListArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let catalogue = tables(args.place.as_deref(), session)?;
    let kinds = match &args.kind {
        Some(kind) => vec![kind.as_str()],
        None => KINDS.to_vec(),
    };
    let listings: Vec<Listing> = kinds.into_iter().filter_map(|kind| report::listing(kind, &catalogue)).collect();
    write(&listings, session)
}

pub(super) fn show(args: &ShowArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let name = within_a_line(&args.name.join(" ")).into_owned();
    if !args.trays.is_empty() {
        return in_trays(&name, args, session);
    }
    let catalogue = tables(args.place.as_deref(), session)?;
    let found = report::show(&name, &catalogue);
    if found.is_empty() {
        if let Err(doubt) = catalogue.meant(&name)
            && doubt != Doubt::Unknown
        {
            let problem = catalogue.doubtful(&name, &doubt, Span::new(0, 0));
            return said(format!("{}: {}", problem.what, problem.help.unwrap_or_default()));
        }
        let others = || {
            let recipes = BUILT_IN.iter().map(|(name, _)| *name);
            let salts = salts().map(|entry| entry.salt.name.as_str());
            catalogue.trays.names().chain(catalogue.ingredients.names()).chain(recipes).chain(salts)
        };
        let names = || catalogue.crops.names().chain(others());
        let nearest = || slips(&name, names()).into_iter().next();
        // Of crops none is offered that a file would not be.
        let near = fuller_names(&name, names()).or_else(|| match nearest() {
            Some(near) if others().any(|other| other == near) => Some(format!("did you mean `{near}`?")),
            _ => catalogue.near(&name),
        });
        let near = near.unwrap_or_else(|| match is_yaml(Path::new(&name)) {
            true => "of a recipe file `--tray 72-cell` shows how it behaves".to_owned(),
            false => "`trayful list` tells what is known".to_owned(),
        });
        return said(format!("nothing is known under `{name}`; {near}"));
    }
    write(&found, session)
}

/// How the mix of a recipe behaves in trays, beside that of another.
fn in_trays(name: &str, args: &ShowArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    if args.trays.iter().any(|tray| tray.contains('=')) {
        return said("`show` takes the kind of tray only, as in `--tray 128-cell`: how many there are changes nothing");
    }
    let inputs = Inputs { place: args.place.as_deref(), ..session.inputs(session.disk, &args.wanted) };
    let request = Request { recipe: name, trays: &args.trays, make: None, crop: args.crop.as_deref() };
    let read = inputs.request_beside(&request, args.with.as_deref());
    let is_no_recipe = |rejected: &Rejected| rejected.problems().any(|(_, one)| one.code == Code::UnknownRecipe);
    if read.as_ref().is_err_and(is_no_recipe) {
        let found = report::show(name, &inputs.tables()?.0);
        if let Some(kind) = found.first().map(Listing::kind).filter(|kind| *kind != "recipe") {
            return said(format!(
                "`{name}` is no recipe: `trayful list {kind}s` has it, and `--tray` shows how a recipe behaves"
            ));
        }
    }
    let Requested { loaded, crop, .. } = read?;
    let Loaded { week, catalogue, .. } = &loaded;
    session.take_units(&week.standing);
    let coarse: Vec<&Ingredient> = catalogue.ingredients.iter().filter(|one| one.coarse).collect();
    let mixed = week.recipes.iter().map(|recipe| Ok((recipe, mix_of(recipe, crop.as_ref(), &loaded)?)));
    let mixed: Vec<_> = mixed.collect::<Result<_, Failure>>()?;
    let mixes = mixed.iter().map(|(recipe, mix)| {
        let behaviour = Behaviour::of(mix, salts_of_coir(None, week), recipe.yield_.is_some());
        let trays = week.sowings.iter().map(|sowing| (&sowing.tray, behaviour.in_tray(&sowing.tray)));
        let remedies = week.sowings.iter().map(|sowing| behaviour.remedies(&sowing.tray, &coarse)).collect();
        let for_acid = crop.as_ref().is_some_and(|crop| crop.wants_acid());
        MixInTrays { for_acid, remedies, ..MixInTrays::of_recipe(recipe, mix, behaviour.clone(), trays.collect()) }
    });
    session.report(&BehaviourReport { mixes: mixes.collect(), crop: crop.as_ref() }, false)
}

/// The mix of a recipe for a crop, in cells of any size.
pub(super) fn mix_of(recipe: &Recipe, crop: Option<&Handle<Crop>>, loaded: &Loaded) -> Result<Composition, Failure> {
    let mix_for = MixFor { crop, ..MixFor::default() };
    let variant = recipe.variant(&loaded.week.wanted, mix_for, &loaded.catalogue, &Work::default());
    variant.map(|variant| variant.composition).or_else(|fault| said(fault.to_string()))
}

/// What ships, with the entries of a place over it, whose units hold.
fn tables(place: Option<&Path>, session: &mut Session<'_>) -> Result<Catalogue, Failure> {
    let (catalogue, standing) = Inputs { place, ..session.inputs(session.disk, &[]) }.tables()?;
    session.take_units(&standing);
    Ok(catalogue)
}

/// One after another; several in JSON make a list.
fn write(listings: &[Listing], session: &mut Session<'_>) -> Result<u8, Failure> {
    match listings {
        [one] => session.report(one, false),
        several => session.report(&report::Several(several), false),
    }
}
