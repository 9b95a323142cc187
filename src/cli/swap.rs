//! `trayful swap`: what may take the place of a part of a recipe.

use super::args::SwapArgs;
use super::catalogue::mix_of;
use super::fill::at_hand;
use super::stocked::each;
use super::{DONE, Failure, Session, UNMET, output, said};
use crate::behaviour::{Behaviour, Candidate, MOST_PH, kept_of, lacking, may_take_part, shape_of, swaps};
use crate::catalogue::{Feeds, Handle, Ingredient, Role};
use crate::diagnostic::{Code, Problem, Problems, Rejected, SourceText};
use crate::plan::salts_of_coir;
use crate::printable::{shown, within_a_line};
use crate::recipe::{Composition, Recipe, Replacement, Work};
use crate::report::{BehaviourReport, MixInTrays, SwapReport, keys};
use crate::source::{Node, is_yaml, parse};
use crate::units::{Quantity, in_litres, to_litres};
use crate::week::{Inputs, Loaded, Request, Requested, read_recipe};
use std::path::Path;
use std::sync::Arc;

/// The tray of which is told where none is named.
const USUAL_TRAY: &str = "72-cell";
/// The most choices that are told.
const MOST_SHOWN: usize = 3;

pub(super) fn run(args: &SwapArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    check(args, session)?;
    let trays = [args.tray.clone().unwrap_or_else(|| USUAL_TRAY.to_owned())];
    let request = Request { recipe: &args.recipe, trays: &trays, make: args.make.as_deref(), crop: None };
    let (stock, place) = (args.stock.as_deref(), args.place.as_deref());
    let inputs = Inputs { stock, place, ..session.inputs(session.disk, &args.wanted) };
    let (requested, source) = (inputs.request(&request)?, inputs.recipe_text(&args.recipe)?);
    let Loaded { week, catalogue, .. } = &requested.loaded;
    let (recipe, tray) = (&week.recipes[0], &week.sowings[0].tray);
    let mix = mix_of(recipe, None, &requested.loaded)?;
    let without = part(&args.without, recipe, &mix, &requested.loaded)?;
    let cell = shape_of(tray).or_else(|why| said(format!("{}: {why}", tray.name)))?;
    all_known(recipe, &mix)?;
    let named = candidates(args, &mix, &requested)?;
    let kept = kept_of(&mix, recipe.yield_.is_some());
    let every = || every(&requested.loaded, recipe, &without);
    let found = |candidates: &[Candidate]| -> Vec<_> {
        swaps((&mix, kept), &without, candidates, &cell).into_iter().take(MOST_SHOWN).collect()
    };
    let choices = found(named.as_ref().unwrap_or(&every()));
    let would_do = if choices.is_empty() { found(&every()) } else { Vec::new() };
    let problems = Problems::new(Arc::clone(&source));
    let node = parse(&source.text, &problems);
    let replacement =
        |takes| Replacement { recipe, mix: &mix, without: &without, takes, catalogue, lime_g_per_l: None };
    let made = choices.iter().map(|choice| make(replacement(&choice.takes), node.as_ref(), &requested.loaded));
    let made: Vec<Made> = made.collect::<Result<_, Failure>>()?;
    let all = [(recipe, &mix)].into_iter().chain(made.iter().map(|(_, recipe, mix)| (recipe, mix)));
    let mixes = all.map(|(recipe, mix)| {
        let behaviour = Behaviour::of(mix, salts_of_coir(None, week), recipe.yield_.is_some());
        let trays = vec![(tray, behaviour.in_tray(tray))];
        MixInTrays::of_recipe(recipe, mix, behaviour, trays)
    });
    let written = to_write(args, &made)?;
    let differing = written.map(|(number, ..)| {
        let new = &made[number - 1].1;
        replacement(&choices[number - 1].takes).differing(new, &week.wanted, &Work::default())
    });
    let report = SwapReport {
        mixes: BehaviourReport { mixes: mixes.collect(), crop: None },
        recipe,
        without: &without,
        swaps: &choices,
        at_hand: named.as_deref(),
        has_amounts: args.have.iter().any(|have| have.contains('=')),
        would_do: &would_do,
        make: requested.make,
        written: written.map(|(number, path, _)| (number, shown(path))),
        differing: &differing.unwrap_or_default(),
    };
    let opened = session.open()?;
    let done = written.map(|(_, path, text)| write(path, text, &within_a_line(&recipe.name), session)).transpose()?;
    session.take_units(&week.standing);
    let style = session.style(false);
    session.write_to(opened, |out| crate::report::write(&report, style, out)).map_err(|failure| failure.after(done))?;
    Ok(if choices.is_empty() { UNMET } else { DONE })
}

/// A recipe with something in the place of a part: its text, what it says, and its mix.
type Made = (String, Recipe, Composition);

/// Makes the recipe of a replacement by the text of the old one, with the lime for a pH that it wants.
fn make(replacement: Replacement<'_>, old: Option<&Node<'_>>, loaded: &Loaded) -> Result<Made, Failure> {
    let of = |lime_g_per_l| {
        let Some(text) = old.and_then(|old| Replacement { lime_g_per_l, ..replacement }.text(old)) else {
            return said(
                "the recipe cannot be written anew: its parts have too many digits, or it was read from a pipe",
            );
        };
        let problems = Problems::new(SourceText::argument(&replacement.recipe.name, &text));
        let read = read_recipe(&loaded.catalogue, &problems);
        let Ok((recipe, _)) = problems.settle(read) else {
            return said("the recipe cannot be written anew: its changes dose what would be a part of it");
        };
        let mix = mix_of(&recipe, None, loaded)?;
        Ok((text, recipe, mix))
    };
    let made = of(None)?;
    lime_wanted(&made).map_or(Ok(made), |lime| of(Some(lime)))
}

/// Lime for the pH that a recipe wants, in grams for a loose litre of its raw peat, where its doses are not for that.
fn lime_wanted((_, recipe, mix): &Made) -> Option<f64> {
    let behaviour = Behaviour::of(mix, None, recipe.yield_.is_some());
    let wanted = recipe.ph.filter(|ph| !behaviour.is_at_ph(*ph))?;
    behaviour.lime_for(wanted).ok().map(|[_, about, _]| about).filter(|about| *about > 0.0)
}

/// What can be said against a request before anything is read.
fn check(args: &SwapArgs, session: &Session<'_>) -> Result<(), Failure> {
    if args.tray.as_ref().is_some_and(|tray| tray.contains('=')) {
        return said("`swap` takes the kind of tray only, as in `--tray 128-cell`");
    }
    match &args.write {
        Some(path) if !is_yaml(path) => said("a week finds a recipe as `NAME.yaml`: give `--write` such a name"),
        Some(path) if session.common.output.as_ref() == Some(path) => {
            said("`--write` is for the recipe and `--output` for what is told of it: give them two names")
        }
        Some(path) => output::check(path, session.common.replace),
        None => Ok(()),
    }
}

/// The choice whose recipe is to be written, with the file and its text.
fn to_write<'m>(args: &'m SwapArgs, made: &'m [Made]) -> Result<Option<(usize, &'m Path, &'m str)>, Failure> {
    let (number, Some(path)) = (usize::from(args.choice), args.write.as_deref()) else { return Ok(None) };
    match made.get(number - 1) {
        Some((text, ..)) => Ok(Some((number, path, text))),
        None if made.is_empty() => Ok(None),
        None => said(format!("there is no choice {number}: the last is {}", made.len())),
    }
}

/// Writes the recipe; what was done.
fn write(path: &Path, text: &str, of: &str, session: &Session<'_>) -> Result<String, Failure> {
    let head = format!("# Made by `trayful swap` of {of}: try one tray first, and test its yield.");
    output::put(session.prepared(path)?, path, |out| write!(out, "{head}\n{text}"))?;
    Ok(format!("the recipe is written to {}", shown(path)))
}

/// Refuses a mix of which it is not known how it behaves.
fn all_known(recipe: &Recipe, mix: &Composition) -> Result<(), Failure> {
    if let Some((id, lacks)) = mix.parts.iter().map(|(id, _)| (id, lacking(id))).find(|(_, lacks)| !lacks.is_empty()) {
        let lacks = keys(&lacks);
        return said(format!(
            "how `{}` behaves is not known without {lacks} of `{}`: state it under `ingredients:`",
            recipe.name, id.name
        ));
    }
    Ok(())
}

/// The part that is to be left out.
fn part(name: &str, recipe: &Recipe, mix: &Composition, loaded: &Loaded) -> Result<Handle<Ingredient>, Failure> {
    let source = SourceText::argument("--without", name);
    let problems = Problems::new(Arc::clone(&source));
    let id = loaded.catalogue.ingredient_named(name.trim(), source.whole(), &problems);
    let (id, _) = problems.settle(id)?;
    if mix.parts.iter().any(|(part, _)| *part == id) {
        return Ok(id);
    }
    let what = format!("`{}` is no part of `{}`", id.name, recipe.name);
    let parts: Vec<&str> = mix.parts.iter().map(|(id, _)| id.name.as_str()).collect();
    let help = match () {
        () if recipe.offers(&id) => {
            Some(format!("the recipe offers it: `--use {}` makes it a part", id.name.replace(' ', "-")))
        }
        () if mix.doses.iter().any(|dose| dose.ingredient == id) => {
            Some("it is a dose, which may be left out".to_owned())
        }
        () => crate::diagnostic::did_you_mean(&id.name, parts.iter().copied()),
    };
    let problem = Problem::new(Code::Recipe, source.whole(), what, format!("one of its parts: {}", parts.join(", ")));
    Err(Rejected::of(source, problem.with_help(help)).into())
}

/// All that is known, but for what is alkaline or stands in for another part of the recipe.
fn every(loaded: &Loaded, recipe: &Recipe, without: &Handle<Ingredient>) -> Vec<Candidate> {
    let all = loaded.catalogue.ingredients.iter().filter_map(|one| loaded.catalogue.ingredients.find(&one.name));
    let others = |id: &Handle<Ingredient>| {
        let mut parts = recipe.parts.iter().map(|part| &part.choices);
        parts.any(|choices| choices.contains(id) && choices[0] != *id && !choices.contains(without))
    };
    let is_mild = |id: &Handle<Ingredient>| id.physical.ph.is_none_or(|(_, most)| most <= MOST_PH);
    let all = all.filter(|id| !id.is(Role::SoakedCoir) && is_mild(id) && !others(id));
    all.map(|ingredient| Candidate { ingredient, most: None }).collect()
}

/// What is at hand, each once, and how many parts of the mix it is enough for where a volume is asked for; `None` where
/// nothing is said of it.
fn candidates(args: &SwapArgs, mix: &Composition, requested: &Requested) -> Result<Option<Vec<Candidate>>, Failure> {
    let Loaded { week, catalogue, .. } = &requested.loaded;
    if week.stock.is_none() && args.have.is_empty() {
        return Ok(None);
    }
    let (amounts, names): (Vec<String>, Vec<String>) = args.have.iter().cloned().partition(|have| have.contains('='));
    let shed = at_hand(&amounts, args.stock.is_none() && !args.have.is_empty(), &requested.loaded)?;
    let names = each("--have", &names, |written| {
        catalogue.ingredient_named(written.text.trim(), written.at, written.problems)
    })?;
    let parts: f64 = mix.parts.iter().map(|(_, parts)| parts.to_f64()).sum();
    let part_l = requested.make.map(|make| to_litres(make) / mix.yield_.to_f64() / parts);
    let none = Quantity::Volume(in_litres(0.0));
    let there = shed.ingredients().filter(|id| shed.at_hand(id, none).size() > 0.0 || shed.is_unlike(id, none));
    let limit = |id: &Handle<Ingredient>| {
        let by_volume = part_l.filter(|_| !shed.is_unlike(id, none));
        by_volume.map(|part_l| shed.serving(id, none).size() / part_l)
    };
    // Soaked coir stands in for coir.
    let as_part = |id: &Handle<Ingredient>| match id.is(Role::SoakedCoir) {
        true => catalogue.ingredients.first("role: coir", |id| id.is(Role::Coir)).unwrap_or_else(|| id.clone()),
        false => id.clone(),
    };
    let mut all: Vec<Candidate> = names.iter().map(|id| Candidate { ingredient: as_part(id), most: None }).collect();
    for id in there.map(as_part) {
        if all.iter().all(|one| one.ingredient != id) {
            all.push(Candidate { most: limit(&id), ingredient: id });
        }
    }
    // Why raw things and bagged mixes are not taken is told.
    let is_told = |id: &Ingredient| id.raw || id.feeds == Feeds::Starter;
    all.retain(|one| is_told(&one.ingredient) || may_take_part(&one.ingredient));
    Ok(Some(all))
}
