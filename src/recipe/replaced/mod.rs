//! The text of a recipe in which other parts stand in the place of one.

mod changes;

use self::changes::{Doses, Verb, Words};
use super::{Basis, Change, Composition, Dose, Recipe, dose};
use crate::catalogue::{Catalogue, Handle, Ingredient, Role};
use crate::diagnostic::{Problems, SourceText};
use crate::exact::Fraction;
use crate::source::{LONGEST_NAME, Node, Value, flow, list};
use crate::units::plain;
use std::borrow::Cow;

/// What stands in the place of a part.
#[derive(Clone, Copy, Debug)]
pub struct Replacement<'r> {
    /// The recipe before.
    pub recipe: &'r Recipe,
    /// Its mix.
    pub mix: &'r Composition,
    /// The part that is left out.
    pub without: &'r Handle<Ingredient>,
    /// What has its place, and how many parts of it: one at least.
    pub takes: &'r [(Handle<Ingredient>, Fraction)],
    /// Every ingredient that the recipe names.
    pub catalogue: &'r Catalogue,
    /// Lime for the pH that the recipe wants, in grams for a loose litre of raw peat, where that is known.
    pub lime_g_per_l: Option<f64>,
}

type Entry<'t> = (Node<'t>, Node<'t>);
type Parts = Vec<(Handle<Ingredient>, Fraction)>;

/// Lime in grams for a litre of raw peat, least and most, with so much of the loose volume castings and compost, which raise
/// the pH too: 3 to 4 (UC Davis, read), 2 beside them (by a fit to a trial, from a tenth on: a judgement).
pub fn usual_lime_g_per_l(rich: f64) -> [f64; 2] {
    if rich < 0.1 { [3.0, 4.0] } else { [2.0, 2.0] }
}

impl Replacement<'_> {
    /// The recipe file of the new mix, by the old one: its yield, and its doses and changes as far as they still apply. Who
    /// published the old one is not said of the new. `None` where parts have too many digits.
    pub fn text(&self, recipe: &Node<'_>) -> Option<String> {
        let words: Vec<Option<Words>> = self.recipe.changes.iter().map(|change| self.words(change)).collect();
        let parts = recipe.get("parts")?.pairs();
        let new: Vec<Entry<'_>> =
            parts.iter().map(|part| self.part(part, &words)).collect::<Option<Vec<_>>>()?.concat();
        let choices: Vec<_> =
            new.iter().filter_map(|(name, _)| name.text()).flat_map(|names| self.choices(names)).collect();
        let is_lime_of_use = choices.iter().any(|id| id.is_acid()) || !self.without.is_acid();
        let still_applies = |(name, value): &&Entry<'_>| {
            let is_lime = self.find(name).is_some_and(|id| id.is(Role::Lime));
            let basis = self.dose(name, value).map(|dose| dose.basis);
            let is_there = if let Some(Basis::Of(id)) = basis { choices.contains(&id) } else { true };
            is_there && (is_lime_of_use || !is_lime)
        };
        let doses = recipe.get("doses").map(Node::pairs).unwrap_or_default();
        let (kept, gone): (Vec<&Entry<'_>>, Vec<_>) = doses.iter().partition(still_applies);
        let limes = kept.iter().filter_map(|(name, value)| self.dose(name, value));
        let limes: Vec<Dose> = limes.filter(|dose| dose.ingredient.is(Role::Lime)).collect();
        let relimed = self.relimed(&limes, recipe.get("ph").is_some()).unwrap_or_default();
        let kept = kept.into_iter().map(|(name, value)| {
            let id = self.find(name);
            let new = relimed.iter().find(|(dose, _)| id.as_ref() == Some(&dose.ingredient));
            (name.clone(), new.map_or_else(|| value.clone(), |(_, new)| new.clone()))
        });
        let new_lime = limes.is_empty().then_some(&relimed).into_iter().flatten();
        let new_lime = new_lime.map(|(dose, rate)| (text(&dose.ingredient.name), rate.clone()));
        let kept: Vec<Entry<'_>> = kept.chain(new_lime).collect();
        let find = |(name, _): &Entry<'_>| self.find(name);
        let [kept_of, gone] = [kept.iter().filter_map(find).collect(), gone.into_iter().filter_map(find).collect()];
        let doses_of = Doses { kept: kept_of, gone, lime: relimed };
        let changes = recipe.get("changes").map(list).unwrap_or_default();
        let changes = self.recipe.changes.iter().zip(changes).zip(&words);
        // What cannot be said exactly stays as it is; it is told where it comes to another mix.
        let changes = changes.map(|((change, node), words)| {
            words.as_ref().map_or_else(|| node.clone(), |words| self.change((change, node), words, &doses_of))
        });
        let changes: Vec<_> = changes.filter(|change| change.pairs().len() > 1).collect();
        let doses = Node::of(Value::Map(kept));
        let entries = recipe.pairs().iter().filter_map(|(key, value)| {
            let value = match key.text()? {
                "recipe" => {
                    let without = format!(" without {}", self.without.name);
                    let room = LONGEST_NAME.saturating_sub(without.chars().count());
                    text(&(value.text()?.chars().take(room).collect::<String>() + &without))
                }
                "source" => return None,
                "parts" => {
                    return Some(written("parts", &Node::of(Value::Map(new.clone()))) + &written("doses", &doses));
                }
                "doses" => return None,
                "changes" => Node::of(Value::List(changes.clone())),
                _ => value.clone(),
            };
            Some(written(key.text()?, &value))
        });
        Some(entries.collect())
    }

    /// The doses of lime as they are written anew, by weight, where all of them together are for another pH, or where castings
    /// and compost are gone, or are new, or there is less or more raw peat than they were for: then no less, or no more, than
    /// is usual for that. Where there is none, the lime for its pH.
    fn relimed<'t>(&self, limes: &[Dose], states_ph: bool) -> Option<Vec<(Dose, Node<'t>)>> {
        let before: Vec<_> = self.mix.parts.iter().map(|(id, parts)| (id, parts.to_f64())).collect();
        let left = before.iter().copied().filter(|(id, _)| *id != self.without);
        let after: Vec<_> = left.chain(self.takes.iter().map(|(id, parts)| (id, parts.to_f64()))).collect();
        let (peat, _) = after.iter().find(|(id, _)| id.is_raw_peat())?;
        let on_peat = |grams: f64| {
            let rate = (text("rate"), text(&format!("{} g/L", plain(grams, 2))));
            Node::of(Value::Map(vec![rate, (text("of"), text(&peat.name))]))
        };
        if limes.is_empty() {
            // Changes that dose lime are for a mix without.
            let is_changed = self.recipe.changes.iter().flat_map(Change::ingredients).any(|id| id.is(Role::Lime));
            let lime = self.catalogue.ingredients.first("role: lime", |id| id.is(Role::Lime))?;
            let written = on_peat(self.lime_g_per_l.filter(|_| !is_changed)?);
            return Some(vec![(self.dose(&text(&lime.name), &written)?, written)]);
        }
        let kept = self.mix.yield_.to_f64();
        let share = |parts: &[(&Handle<Ingredient>, f64)], is_one: fn(&Ingredient) -> bool| {
            let some = parts.iter().filter(|(id, _)| is_one(id)).map(|(_, parts)| parts).sum::<f64>();
            some / parts.iter().map(|(_, parts)| parts).sum::<f64>()
        };
        // In a litre of raw peat; nothing is known of spoons, nor of what is dosed on something else.
        let of_peat = |dose: &Dose, parts: &[(&Handle<Ingredient>, f64)]| match &dose.basis {
            Basis::Of(id) => (id.is_raw_peat() && dose.rate.spoon().is_none()).then(|| dose.rate.per_litre()),
            _ => Some(self.mix.grams_per_litre(dose, kept)? * kept / share(parts, Ingredient::is_raw_peat)),
        };
        let of = |parts: &[(&Handle<Ingredient>, f64)]| {
            let all: Option<f64> = limes.iter().map(|dose| of_peat(dose, parts)).sum();
            Some((usual_lime_g_per_l(share(parts, |id| id.rich)), all.filter(|all| *all > 0.0)?))
        };
        let (([least_before, most_before], had), ([least, most], has)) = of(&before).zip(of(&after))?;
        let is_short = has < least && (least > least_before || has < had);
        let is_much = has > most && (most < most_before || has > had);
        let usual = (!states_ph && (is_short || is_much)).then(|| f64::midpoint(least, most));
        let factor = self.lime_g_per_l.or(usual)? / has;
        let written = |dose: &Dose| Some((dose.clone(), on_peat(of_peat(dose, &after)? * factor)));
        limes.iter().map(written).collect()
    }

    fn dose(&self, name: &Node<'_>, value: &Node<'_>) -> Option<Dose> {
        let quiet = Problems::new(SourceText::argument("dose", ""));
        let (rate, basis) = dose::read(value, self.catalogue, &quiet)?;
        Some(Dose { ingredient: self.find(name)?, rate, basis: basis.unwrap_or(Basis::Finished) })
    }

    /// A part, or what has its place. Of a part with choices the one that has grown is left alone where a change sets that.
    fn part<'t>(&self, (name, amount): &Entry<'t>, words: &[Option<Words>]) -> Option<Vec<Entry<'t>>> {
        let choices = self.choices(name.text()?);
        let taken = |id: &Handle<Ingredient>| self.takes.iter().find(|(taker, _)| taker == id).map(|(_, parts)| *parts);
        if choices.contains(self.without) {
            let new = self.takes.iter().filter(|(id, _)| self.before(id).is_none());
            return Some(new.map(|(id, parts)| (text(&id.name), text(&parts.to_string()))).collect());
        }
        let grown = choices.iter().find(|id| self.before(id).is_some() && taken(id).is_some());
        let amount = match grown {
            Some(id) => text(&self.before(id)?.plus(taken(id)?)?.to_string()),
            None => amount.clone(),
        };
        let sets = |id| {
            words.iter().flatten().flatten().any(|(of, verb)| of == id && matches!(verb, Verb::Drop | Verb::Set(_)))
        };
        let is_set = grown.is_some_and(sets);
        // What else is taken is no choice here any more: no ingredient may be a part twice. What is in the mix comes first.
        let mut left: Vec<_> =
            choices.iter().filter(|id| grown == Some(id) || !is_set && taken(id).is_none()).collect();
        left.sort_by_key(|id| self.before(id).is_none());
        let names = left.iter().map(|id| id.name.as_str()).collect::<Vec<_>>();
        let is_as_it_was = left.iter().copied().eq(&choices);
        let name = if is_as_it_was { name.clone() } else { text(&names.join(" or ")) };
        Some(vec![(name, amount)])
    }

    /// How many parts there are of an ingredient in the mix before.
    fn before(&self, id: &Handle<Ingredient>) -> Option<Fraction> {
        self.mix.parts_of(id)
    }

    fn find(&self, name: &Node<'_>) -> Option<Handle<Ingredient>> {
        self.catalogue.ingredients.find(name.text()?.trim())
    }

    fn choices(&self, names: &str) -> Vec<Handle<Ingredient>> {
        names.split(" or ").filter_map(|name| self.catalogue.ingredients.find(name.trim())).collect()
    }
}

fn text<'t>(text: &str) -> Node<'t> {
    Node::of(Value::Text(Cow::Owned(text.to_owned())))
}

/// A key of a file with its value, entries on lines of their own.
fn written(key: &str, value: &Node<'_>) -> String {
    let entries: Vec<String> = match &value.value {
        Value::Map(map) => map.iter().map(|(key, value)| format!("{}: {}", flow(key), flow(value))).collect(),
        Value::List(list) => list.iter().map(|value| format!("- {}", flow(value))).collect(),
        _ => return format!("{key}: {}\n", flow(value)),
    };
    if entries.is_empty() { String::new() } else { format!("{key}:\n  {}\n", entries.join("\n  ")) }
}
