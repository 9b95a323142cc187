//! The text of a recipe in which other parts stand in the place of one.

use super::{Basis, Change, Composition, Dose, PartsOrDose, Recipe, dose};
use crate::catalogue::{Catalogue, Handle, Ingredient, Role};
use crate::diagnostic::{Problems, SourceText};
use crate::exact::Fraction;
use crate::source::{LONGEST_NAME, Node, Value, flow, list};
use crate::units::plain;
use std::borrow::Cow;
use std::cmp::Ordering;

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

/// What a change says of parts.
#[derive(Default)]
struct Anew<'t> {
    is_as_it_was: bool,
    drop: Vec<Node<'t>>,
    add: Vec<Entry<'t>>,
    set: Vec<Entry<'t>>,
}

/// Lime in grams for a litre of raw peat, least and most, with so much of the loose volume castings and compost, which raise
/// the pH too: 3 to 4 (UC Davis, read), 2 beside them (by a fit to a trial, from a tenth on: a judgement).
pub fn usual_lime_g_per_l(rich: f64) -> [f64; 2] {
    if rich < 0.1 { [3.0, 4.0] } else { [2.0, 2.0] }
}

impl Replacement<'_> {
    /// The recipe file of the new mix, by the old one: its yield, and its doses and changes as far as they still apply. Who
    /// published the old one is not said of the new. `None` where parts have too many digits.
    pub fn text(&self, recipe: &Node<'_>) -> Option<String> {
        let parts = map(recipe.get("parts")?)?;
        let new: Vec<Entry<'_>> = parts.iter().map(|part| self.part(part)).collect::<Option<Vec<_>>>()?.concat();
        let choices: Vec<_> =
            new.iter().filter_map(|(name, _)| name.text()).flat_map(|names| self.choices(names)).collect();
        let is_lime_of_use = choices.iter().any(|id| id.is_acid()) || !self.without.is_acid();
        let still_applies = |(name, value): &&Entry<'_>| {
            let is_lime = self.find(name).is_some_and(|id| id.is(Role::Lime));
            let basis = self.dose(name, value).map(|dose| dose.basis);
            let is_there = if let Some(Basis::Of(id)) = basis { choices.contains(&id) } else { true };
            is_there && (is_lime_of_use || !is_lime)
        };
        let doses = recipe.get("doses").and_then(map).unwrap_or_default();
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
        let gone: Vec<_> = gone.iter().filter_map(|(name, _)| self.find(name)).collect();
        let changes = recipe.get("changes").map(list).unwrap_or_default();
        let changes = self.recipe.changes.iter().zip(changes);
        let changes = changes.map(|change| self.change(change, &gone, &relimed)).collect::<Option<Vec<_>>>()?;
        let changes: Vec<_> =
            changes.into_iter().filter(|change| map(change).is_some_and(|keys| keys.len() > 1)).collect();
        let doses = Node::of(Value::Map(kept));
        let entries = map(recipe)?.iter().filter_map(|(key, value)| {
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
            let lime = self.catalogue.ingredients.first("role: lime", |id| id.is(Role::Lime))?;
            let written = on_peat(self.lime_g_per_l?);
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

    /// A part, or what has its place.
    fn part<'t>(&self, (name, amount): &Entry<'t>) -> Option<Vec<Entry<'t>>> {
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
        // What else is taken is no choice here any more: no ingredient may be a part twice. What is in the mix comes first.
        let mut left: Vec<_> = choices.iter().filter(|id| taken(id).is_none() || grown == Some(id)).collect();
        left.sort_by_key(|id| self.before(id).is_none());
        let names = left.iter().map(|id| id.name.as_str()).collect::<Vec<_>>();
        let is_as_it_was = left.iter().copied().eq(&choices);
        let name = if is_as_it_was { name.clone() } else { text(&names.join(" or ")) };
        Some(vec![(name, amount)])
    }

    /// Parts with what has the place of one among them. Of more than there were in the mix castings and compost stand for
    /// castings and compost alone: those are there for their food, or not there for their salts.
    fn replaced(&self, mut parts: Parts) -> Option<Parts> {
        let before = self.before(self.without)?;
        let wanted = amount(&parts, self.without);
        parts.retain(|(id, _)| id != self.without);
        for (id, share) in self.takes {
            let wanted = if id.rich == self.without.rich { wanted } else { wanted.min(before) };
            let more = wanted.times(*share)?.over(before)?;
            match parts.iter_mut().find(|(part, _)| part == id) {
                Some((_, parts)) => *parts = parts.plus(more)?,
                None => parts.push((id.clone(), more)),
            }
        }
        parts.retain(|(_, parts)| !parts.is_zero());
        Some(parts)
    }

    /// Parts in the same proportions, with as much of a part with choices as the new mix has: who uses another choice has its
    /// number then, too.
    fn scaled(&self, new: &Parts, parts: &Parts) -> Option<Parts> {
        let choices = self.recipe.parts.iter().filter(|part| part.choices.len() > 1).flat_map(|part| &part.choices);
        let mut numbers = choices.map(|id| [amount(new, id), amount(parts, id)]);
        let [wanted, has] =
            numbers.find(|both| both.iter().all(|parts| !parts.is_zero())).unwrap_or([Fraction::ONE; 2]);
        parts.iter().map(|(id, parts)| Some((id.clone(), parts.times(wanted)?.over(has)?))).collect()
    }

    /// What a change says of parts, in words of its own where those no longer come to the mix that they came to.
    fn anew<'t>(&self, change: &Change) -> Option<Anew<'t>> {
        let new = self.replaced(self.mix.parts.clone())?;
        let wanted = self.replaced(change.of_parts(&self.mix.parts)?)?;
        let as_it_is = change.of_parts(&new)?;
        let is_there = |(id, parts): &(Handle<Ingredient>, Fraction)| amount(&as_it_is, id) == *parts;
        if !change.names(self.without) && as_it_is.len() == wanted.len() && wanted.iter().all(is_there) {
            return Some(Anew { is_as_it_was: true, ..Anew::default() });
        }
        let wanted = self.scaled(&new, &wanted)?;
        let mut anew = Anew::default();
        let others = wanted.iter().filter(|(id, _)| amount(&new, id).is_zero());
        for (id, _) in new.iter().chain(others) {
            let [had, has] = [&new, &wanted].map(|parts| amount(parts, id));
            match has.cmp(&had) {
                Ordering::Equal => {}
                Ordering::Less if has.is_zero() => anew.drop.push(text(&id.name)),
                Ordering::Less => anew.set.push((text(&id.name), text(&has.to_string()))),
                Ordering::Greater => anew.add.push((text(&id.name), text(&has.minus(had)?.to_string()))),
            }
        }
        Some(anew)
    }

    /// A change that comes to the same mix as before with what has the place of the part, and says nothing of doses that are
    /// gone. A plain rate of lime that is written anew stays on what it was for.
    fn change<'t>(
        &self,
        (change, node): (&Change, &'t Node<'t>),
        gone: &[Handle<Ingredient>],
        relimed: &[(Dose, Node<'t>)],
    ) -> Option<Node<'t>> {
        let Anew { is_as_it_was, mut drop, add, set } = self.anew(change)?;
        let amounts = |key, read: &[(Handle<Ingredient>, PartsOrDose)], anew: Vec<Entry<'t>>| {
            let written = node.get(key).and_then(map).unwrap_or_default().iter().zip(read);
            let written = written.filter(|(_, (id, amount))| match amount {
                PartsOrDose::Parts(_) => is_as_it_was,
                PartsOrDose::Dose(..) => !gone.contains(id),
            });
            let written = written.map(|((name, amount), (id, _))| {
                let dose = relimed.iter().find(|(dose, _)| key == "set" && dose.ingredient == *id);
                (name.clone(), dose.and_then(|(dose, _)| on_its_basis(dose, amount)).unwrap_or_else(|| amount.clone()))
            });
            Node::of(Value::Map(written.chain(anew).collect()))
        };
        let dropped = node.get("drop").map(list).unwrap_or_default().iter().zip(&change.drop);
        let is_left = |id| !gone.contains(id) && (is_as_it_was || self.before(id).is_none());
        drop.extend(dropped.filter(|(_, id)| is_left(id)).map(|(node, _)| node.clone()));
        let instead = node.get("instead").filter(|_| is_as_it_was && !drop.is_empty()).cloned();
        let mut keys = vec![(text("for"), node.get("for")?.clone()), (text("drop"), Node::of(Value::List(drop)))];
        keys.extend(instead.map(|node| (text("instead"), node)));
        keys.extend(
            [("add", &change.add, add), ("set", &change.set, set)]
                .map(|(key, read, anew)| (text(key), amounts(key, read, anew))),
        );
        let rest = |(key, _): &&Entry<'t>| !["for", "drop", "instead", "add", "set"].map(Some).contains(&key.text());
        keys.extend(map(node)?.iter().filter(rest).cloned());
        keys.retain(|(_, value)| match &value.value {
            Value::Null => false,
            Value::List(list) => !list.is_empty(),
            Value::Map(map) => !map.is_empty(),
            Value::Text(_) => true,
        });
        Some(Node::of(Value::Map(keys)))
    }

    /// How many parts there are of an ingredient in the mix before.
    fn before(&self, id: &Handle<Ingredient>) -> Option<Fraction> {
        Some(amount(&self.mix.parts, id)).filter(|parts| !parts.is_zero())
    }

    fn find(&self, name: &Node<'_>) -> Option<Handle<Ingredient>> {
        self.catalogue.ingredients.find(name.text()?.trim())
    }

    fn choices(&self, names: &str) -> Vec<Handle<Ingredient>> {
        names.split(" or ").filter_map(|name| self.catalogue.ingredients.find(name.trim())).collect()
    }
}

/// How many parts there are of an ingredient.
fn amount(parts: &[(Handle<Ingredient>, Fraction)], id: &Handle<Ingredient>) -> Fraction {
    parts.iter().find(|(part, _)| part == id).map_or(Fraction::ZERO, |(_, parts)| *parts)
}

fn map<'n, 't>(node: &'n Node<'t>) -> Option<&'n [Entry<'t>]> {
    if let Value::Map(map) = &node.value { Some(map) } else { None }
}

fn text<'t>(text: &str) -> Node<'t> {
    Node::of(Value::Text(Cow::Owned(text.to_owned())))
}

/// A plain rate with the volume that a dose is for.
fn on_its_basis<'t>(dose: &Dose, amount: &Node<'t>) -> Option<Node<'t>> {
    let rate = amount.text().map(|_| (text("rate"), amount.clone()))?;
    let on = match &dose.basis {
        Basis::Finished => (text("per"), text("finished")),
        Basis::Loose => (text("per"), text("loose")),
        Basis::Of(id) => (text("of"), text(&id.name)),
    };
    Some(Node::of(Value::Map(vec![rate, on])))
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
