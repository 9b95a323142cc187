//! The changes of a recipe in which other parts stand in the place of one.

use super::{Entry, Parts, Replacement, text};
use crate::catalogue::{Crop, Handle, Ingredient, Tray};
use crate::exact::Fraction;
use crate::recipe::variant::usual_ends;
use crate::recipe::{Basis, Change, Dose, MixFor, PartsOrDose, Recipe, Work};
use crate::source::{Node, Value, list};

/// What a change does to an ingredient.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Verb {
    Keep,
    Drop,
    Add(Fraction),
    Set(Fraction),
}

pub(super) type Words = Vec<(Handle<Ingredient>, Verb)>;

/// The doses of the new mix.
pub(super) struct Doses<'t> {
    pub(super) kept: Vec<Handle<Ingredient>>,
    pub(super) gone: Vec<Handle<Ingredient>>,
    /// Lime that is written anew: the dose before.
    pub(super) lime: Vec<(Dose, Node<'t>)>,
}

impl Replacement<'_> {
    /// Parts with what has the place of one among them; with what a change makes of them, castings and compost as they should.
    /// Of more than there were in the mix they stand for castings and compost alone: they are there for their food, or not there
    /// for their salts; where some are left out for these none come in.
    fn replaced(&self, mut parts: Parts, by: Option<&Change>) -> Option<Parts> {
        let before = self.before(self.without)?;
        let wanted = amount(&parts, self.without);
        parts.retain(|(id, _)| id != self.without);
        let drops_rich = by.is_some_and(Change::drops_rich);
        for (id, share) in self.takes.iter().filter(|(id, _)| !(drops_rich && id.rich)) {
            let is_like = by.is_none() || id.rich == self.without.rich;
            let wanted = if is_like { wanted } else { wanted.min(before) };
            let more = wanted.times(*share)?.over(before)?;
            match parts.iter_mut().find(|(part, _)| part == id) {
                Some((_, parts)) => *parts = parts.plus(more)?,
                None => parts.push((id.clone(), more)),
            }
        }
        parts.retain(|(_, parts)| !parts.is_zero());
        Some(parts)
    }

    /// What a change says of what has the place of the part, and of what takes the share of what it leaves out, so that it comes
    /// to the same mix as before. What it set or left out is set anew, and what it added added, whatever others change; none
    /// where it speaks of neither.
    pub(super) fn words(&self, change: &Change) -> Option<Words> {
        let is_taken = |id: &Handle<Ingredient>| self.takes.iter().any(|(taken, _)| taken == id);
        let is_named = |id: &Handle<Ingredient>| id == self.without || is_taken(id);
        let brings_salts = change.drops_rich() && self.takes.iter().any(|(id, _)| id.rich);
        if !change.ingredients().any(is_named) && !brings_salts {
            return Some(Vec::new());
        }
        let new = self.replaced(self.mix.parts.clone(), None)?;
        let wanted = self.replaced(change.of_parts(&self.mix.parts)?, Some(change))?;
        let sets = |id: &Handle<Ingredient>| {
            let set = change.set.iter().filter(|(_, amount)| matches!(amount, PartsOrDose::Parts(_))).map(|(id, _)| id);
            change.drop.iter().chain(set).any(|one| one == id)
        };
        // Where no other change speaks of them, nothing needs to be set to what it is.
        let is_alone = self.recipe.changes.iter().filter(|change| change.ingredients().any(is_named)).count() < 2;
        let carrier = change.instead.iter().filter(|id| !is_named(id));
        let of = self.takes.iter().map(|(id, _)| id).chain(carrier).map(|id| {
            let [had, has] = [&new, &wanted].map(|parts| amount(parts, id));
            let is_set = sets(id) || is_taken(id) && sets(self.without);
            let verb = match () {
                () if has == had && (is_alone || has.is_zero() || !is_set) => Verb::Keep,
                () if has.is_zero() => Verb::Drop,
                () if is_set || has < had => Verb::Set(has),
                () => Verb::Add(has.minus(had)?),
            };
            Some((id.clone(), verb))
        });
        of.collect()
    }

    /// A change in words of the new mix, which says nothing of doses that are gone. A plain rate of lime that is written anew
    /// stays on what it was for.
    pub(super) fn change<'t>(
        &self,
        (change, node): (&Change, &'t Node<'t>),
        words: &Words,
        doses: &Doses<'t>,
    ) -> Node<'t> {
        let is_worded = |id: &Handle<Ingredient>| id == self.without || words.iter().any(|(of, _)| of == id);
        let mut drop: Vec<Node<'t>> =
            words.iter().filter(|(_, verb)| *verb == Verb::Drop).map(|(id, _)| text(&id.name)).collect();
        // A dose of the same name goes with the part.
        let dropped = node.get("drop").map(list).unwrap_or_default().iter().zip(&change.drop);
        let is_left = |id: &Handle<Ingredient>| match is_worded(id) {
            true => doses.kept.contains(id) && !words.contains(&(id.clone(), Verb::Drop)),
            false => !doses.gone.contains(id) || self.before(id).is_some(),
        };
        drop.extend(dropped.filter(|(_, id)| is_left(id)).map(|(node, _)| node.clone()));
        let [mut add, mut set] = [("add", &change.add), ("set", &change.set)].map(|(key, read)| {
            let written = node.get(key).map(Node::pairs).unwrap_or_default().iter().zip(read);
            let written = written.filter(|(_, (id, amount))| match amount {
                PartsOrDose::Parts(_) => !is_worded(id),
                PartsOrDose::Dose(..) => !doses.gone.contains(id),
            });
            let written = written.map(|((name, amount), (id, _))| {
                let anew = doses.lime.iter().find(|(dose, _)| key == "set" && dose.ingredient == *id);
                (name.clone(), anew.and_then(|(dose, _)| on_its_basis(dose, amount)).unwrap_or_else(|| amount.clone()))
            });
            written.collect::<Vec<Entry<'t>>>()
        });
        for (id, verb) in words {
            match verb {
                Verb::Keep | Verb::Drop => {}
                Verb::Add(parts) => add.push((text(&id.name), text(&parts.to_string()))),
                Verb::Set(parts) => set.push((text(&id.name), text(&parts.to_string()))),
            }
        }
        let instead = node.get("instead").filter(|_| !drop.is_empty() && !change.instead.iter().any(is_worded));
        let keys = [
            ("for", node.get("for").cloned()),
            ("drop", Some(Node::of(Value::List(drop)))),
            ("instead", instead.cloned()),
            ("add", Some(Node::of(Value::Map(add)))),
            ("set", Some(Node::of(Value::Map(set)))),
        ];
        let is_rest = |(key, _): &&Entry<'t>| keys.iter().all(|(known, _)| key.text() != Some(known));
        let rest = node.pairs().iter().filter(is_rest).cloned().collect::<Vec<_>>();
        let keys = keys.into_iter().filter_map(|(key, value)| value.map(|value| (text(key), value))).chain(rest);
        let says = |(_, value): &Entry<'_>| match &value.value {
            Value::Null => false,
            Value::List(list) => !list.is_empty(),
            Value::Map(map) => !map.is_empty(),
            Value::Text(_) => true,
        };
        Node::of(Value::Map(keys.filter(says).collect()))
    }

    /// The crops for which the changes of the new recipe do not come to the mix of the old one with what has the place of the
    /// part: where one takes back what another one said, or for the food and the salts of castings and compost.
    pub fn differing(&self, new: &Recipe, wanted: &[Handle<Ingredient>], work: &Work) -> Vec<Handle<Crop>> {
        let crops = self.catalogue.crops.iter().filter_map(|crop| self.catalogue.crops.find(&crop.name));
        let trays = usual_ends(self.catalogue);
        let [old_base, new_base] = [self.recipe, new].map(|of| Recipe { changes: Vec::new(), ..of.clone() });
        let is_off = |[old, new]: [&Recipe; 2], mix_for: MixFor<'_>| {
            let of = |recipe: &Recipe| Some(recipe.variant(wanted, mix_for, self.catalogue, work).ok()?.composition);
            let Some(mut old) = of(old) else { return false };
            old.parts = self.replaced(old.parts, None).unwrap_or_default();
            let [old, new] = [Some(old), of(new)].map(|mix| mix.and_then(|mix| mix.shares()).unwrap_or_default());
            old.len() != new.len() || old.iter().any(|(id, share)| amount(&new, id) != *share)
        };
        // What is off without its changes is not so for them.
        let is_off = |crop: &Handle<Crop>, tray: Option<&Handle<Tray>>| {
            let mix_for = MixFor { crop: Some(crop), tray, ..MixFor::default() };
            is_off([self.recipe, new], mix_for) && !is_off([&old_base, &new_base], mix_for)
        };
        crops.filter(|crop| trays.iter().any(|tray| is_off(crop, tray.as_ref()))).collect()
    }
}

/// How many parts there are of an ingredient.
fn amount(parts: &[(Handle<Ingredient>, Fraction)], id: &Handle<Ingredient>) -> Fraction {
    parts.iter().find(|(part, _)| part == id).map_or(Fraction::ZERO, |(_, parts)| *parts)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::diagnostic::{Problems, SourceText};
    use crate::recipe::Composition;
    use crate::source::{Fields, parse};
    use std::sync::Arc;

    /// Numbers that seem random, the same in every run.
    struct Numbers(u64);

    impl Numbers {
        fn below(&mut self, most: u64) -> u64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) % most
        }

        fn some<'n>(&mut self, of: &[&'n str], count: u64) -> Vec<&'n str> {
            let mut left = of.to_vec();
            (0..count).map(|_| left.swap_remove(usize::try_from(self.below(left.len() as u64)).unwrap())).collect()
        }
    }

    fn read(text: &str, catalogue: &Catalogue) -> Recipe {
        let source = Arc::new(SourceText { name: "own.yaml".to_owned(), text: text.to_owned() });
        let problems = Problems::new(Arc::clone(&source));
        let node = parse(&source.text, &problems).unwrap();
        let mut fields = Fields::new(&node, "a recipe", &problems).unwrap();
        let recipe = Recipe::read(&mut fields, catalogue, &problems);
        assert!(problems.is_empty(), "{text}");
        recipe.unwrap()
    }

    fn mix(recipe: &Recipe, crop: Option<&str>, catalogue: &Catalogue) -> Option<Composition> {
        let crop = crop.map(|crop| catalogue.crops.find(crop).unwrap());
        let mix_for = MixFor { crop: crop.as_ref(), ..MixFor::default() };
        Some(recipe.variant(&[], mix_for, catalogue, &Work::default()).ok()?.composition)
    }

    const CROPS: [&str; 3] = ["leek", "kale", "basil"];

    /// A recipe with some changes, of which one or two may hold for a crop.
    fn drawn(draw: &mut Numbers, most_changes: u64) -> String {
        const OFFERED: [&str; 6] = ["peat", "coir", "perlite", "vermiculite", "pumice", "castings"];
        let count = 3 + draw.below(2);
        let parts = draw.some(&OFFERED, count);
        let mut text = "recipe: own\nparts:\n".to_owned();
        for part in &parts {
            text += &format!("  {part}: {}\n", 1 + draw.below(4));
        }
        text += "changes:\n";
        for _ in 0..most_changes {
            let count = 1 + draw.below(2);
            text += &format!("  - for: [{}]\n    sieve: 6 mm\n", draw.some(&CROPS, count).join(", "));
            if draw.below(2) == 0 {
                let dropped = draw.some(&parts, 1)[0];
                text += &format!("    drop: [{dropped}]\n");
                let carrier = draw.some(&parts, 1)[0];
                text += &if draw.below(3) == 0 && carrier != dropped {
                    format!("    instead: {carrier}\n")
                } else {
                    String::new()
                };
            }
            for key in ["add", "set"] {
                let amounts = draw.some(&OFFERED, 1)[0];
                let amounts = format!("    {key}: {{{amounts}: {}}}\n", 1 + draw.below(3));
                text += if draw.below(2) == 0 { &amounts } else { "" };
            }
        }
        text
    }

    /// The shares of a mix with some parts in the place of one, worked out apart from the code above.
    fn expected(
        mix: &Composition,
        base: &Composition,
        replacement: &Replacement<'_>,
        drops_castings: Option<bool>,
    ) -> Vec<(String, f64)> {
        let of = |mix: &Composition, name: &str| {
            mix.parts.iter().filter(|(id, _)| id.name == name).map(|(_, parts)| parts.to_f64()).sum::<f64>()
        };
        let without = &replacement.without.name;
        let (had, has) = (of(base, without), of(mix, without));
        let mut parts: Vec<(String, f64)> = mix
            .parts
            .iter()
            .filter(|(id, _)| id.name != *without)
            .map(|(id, parts)| (id.name.clone(), parts.to_f64()))
            .collect();
        for (id, share) in replacement.takes {
            let is_like = drops_castings.is_none() || (id.name == "castings") == (without == "castings");
            let bad = id.name == "castings" && drops_castings == Some(true);
            let times = if is_like { has / had } else { (has / had).min(1.0) };
            parts.push((id.name.clone(), if bad { 0.0 } else { share.to_f64() * times }));
        }
        let mut names: Vec<String> = parts.iter().map(|(name, _)| name.clone()).collect();
        names.sort();
        names.dedup();
        let all: f64 = parts.iter().map(|(_, parts)| parts).sum();
        let of = |name: &str| parts.iter().filter(|(one, _)| one == name).map(|(_, parts)| parts).sum::<f64>() / all;
        names
            .into_iter()
            .map(|name| {
                let share = of(&name);
                (name, share)
            })
            .filter(|(_, share)| *share > 1e-9)
            .collect()
    }

    /// Whatever a change says, a crop has the mix that it had with what has the place of the part; where one change takes back
    /// what another said of that, or for the sake of castings, it is told.
    #[test]
    fn changes_come_to_the_same_mix() {
        let (catalogue, mut draw) = (Catalogue::built_in(), Numbers(7));
        let (mut alone, mut several, mut told) = (0, 0, 0);
        for round in 0..400 {
            let changes = 1 + round % 3;
            let text = drawn(&mut draw, changes);
            let recipe = read(&text, &catalogue);
            let base = mix(&recipe, None, &catalogue).unwrap();
            let (without, parts) = &base.parts[usize::try_from(draw.below(base.parts.len() as u64)).unwrap()];
            let mut others = vec!["peat", "coir", "perlite", "vermiculite", "pumice", "castings"];
            others.retain(|name| *name != without.name);
            let half = parts.over(Fraction::whole(2)).unwrap();
            let takes: Vec<_> = match draw.below(2) {
                0 => vec![(draw.some(&others, 1)[0], *parts)],
                _ => draw.some(&others, 2).into_iter().map(|name| (name, half)).collect(),
            };
            let takes: Vec<_> =
                takes.into_iter().map(|(name, parts)| (catalogue.ingredients.find(name).unwrap(), parts)).collect();
            let replacement = Replacement {
                recipe: &recipe,
                mix: &base,
                without,
                takes: &takes,
                catalogue: &catalogue,
                lime_g_per_l: None,
            };
            let problems = Problems::new(SourceText::argument("recipe", &text));
            let node = parse(&text, &problems).unwrap();
            let new_text = replacement.text(&node).unwrap();
            let new = read(&new_text, &catalogue);
            let differing = replacement.differing(&new, &[], &Work::default());
            for crop in CROPS {
                let id = catalogue.crops.find(crop).unwrap();
                let holding = recipe.changes.iter().filter(|change| change.crops.includes(Some(&id), None, None));
                let holding: Vec<_> = holding.collect();
                let drops = holding.iter().any(|change| change.drop.iter().any(|id| id.name == "castings"));
                let Some(old) = mix(&recipe, Some(crop), &catalogue).filter(|_| !holding.is_empty()) else { continue };
                let got = mix(&new, Some(crop), &catalogue)
                    .map(|mix| expected(&mix, &mix, &Replacement { takes: &[], ..replacement }, None))
                    .unwrap_or_default();
                let is = |wanted: Vec<(String, f64)>| {
                    let mut both = wanted.iter().zip(&got);
                    wanted.len() == got.len()
                        && both.all(|(one, other)| one.0 == other.0 && (one.1 - other.1).abs() < 1e-9)
                };
                let is_told = differing.contains(&id);
                let words = || format!("{crop}: {got:?} {is_told}\n{text}\n{new_text}");
                assert!(is_told != is(expected(&old, &base, &replacement, None)), "{}", words());
                if holding.len() == 1 {
                    alone += 1;
                    assert!(is(expected(&old, &base, &replacement, Some(drops))), "{}", words());
                } else {
                    several += 1;
                    told += usize::from(is_told);
                }
            }
        }
        assert!(alone > 400 && several > 200 && told * 3 < several, "{alone} {several} {told}");
    }
}
