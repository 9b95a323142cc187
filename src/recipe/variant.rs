//! A recipe after its changes and without what does not serve the crop: what goes into the mix for a crop.

use super::change::PartsOrDose;
use super::{Basis, Change, Composition, Dose, Recipe, Top, default_yield};
use crate::catalogue::{Catalogue, Crop, CropChoice, Handle, Ingredient, Role, Status, Tray};
use crate::diagnostic::Span;
use crate::exact::Fraction;
use crate::units::Rate;
use std::cell::Cell;
use std::cmp::Ordering;
use std::collections::HashSet;

/// The crop and the tray that a mix is made up for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct MixFor<'c> {
    /// The crop; `None` for any host of mycorrhiza, for which no change of a recipe holds.
    pub crop: Option<&'c Handle<Crop>>,
    /// The tray; `None` where a volume is asked for.
    pub tray: Option<&'c Handle<Tray>>,
    /// Overrides which crops an ingredient serves.
    pub inoculant: Option<bool>,
    /// It is for plugs that were inoculated when they were sown.
    pub in_plugs: bool,
}

/// A composition for a crop in a tray, and how it came about.
#[derive(Clone, Debug)]
pub struct Variant {
    /// What goes in.
    pub composition: Composition,
    /// A sieved layer on top.
    pub top: Option<Top>,
    /// What fell away from the recipe, and why.
    pub left_out: Vec<LeftOut>,
}

/// Something of the recipe that this crop's mix goes without.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// Why.
    pub why: Why,
    /// How much the recipe has of it.
    pub share: RecipeShare,
    /// What has its share as a part instead.
    pub instead: Option<Handle<Ingredient>>,
}

/// How much a recipe has of an ingredient.
#[derive(Clone, Debug, PartialEq)]
pub enum RecipeShare {
    /// Its share of the loose volume.
    Part(f64),
    /// Its dose.
    Dose(Dose),
}

/// Why something is left out.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Why {
    /// The crop's way of life is not among those served.
    NotServed(Status),
    /// The crop, or its cell, has not the traits of those served.
    NotAmong,
    /// Plants of this way of life do not bear it.
    NotFor(Status),
    /// The sowing says so.
    Asked,
    /// The plugs were inoculated when they were sown.
    InPlugs,
    /// A change of the recipe says so.
    Change,
    /// The dose counts on an ingredient that is not in the mix.
    NoneOf(Handle<Ingredient>),
    /// Lime counts on raw peat, and the peat of the mix is limed already.
    Limed(Handle<Ingredient>),
}

/// Why no mix can be made up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MixFault {
    /// Every part was dropped.
    #[error("nothing is left of the mix: every part is dropped")]
    Empty,
    /// The fractions outgrew exact arithmetic.
    #[error("the parts have too many digits to be summed exactly")]
    Digits,
    /// The [`Work`] is used up.
    #[error("the changes of the recipes name too much to try them for so many crops and trays")]
    TooMuch,
}

/// What may still be looked at to make up mixes: entries of `for:` for each crop in each tray, and what a
/// mix holds for each entry of a change. All of it takes half a second.
#[derive(Debug)]
pub struct Work(Cell<Option<u64>>);

impl Default for Work {
    fn default() -> Self {
        Self::of(200_000_000)
    }
}

impl Work {
    /// So many looks.
    pub(crate) fn of(looks: u64) -> Self {
        Self(Cell::new(Some(looks)))
    }

    fn take(&self, looks: usize) -> Result<(), MixFault> {
        self.0.set(self.0.get().and_then(|left| left.checked_sub(looks as u64)));
        self.left().map(|_| ())
    }

    /// What is left.
    ///
    /// # Errors
    /// [`MixFault::TooMuch`] once more was asked for than there was.
    pub fn left(&self) -> Result<u64, MixFault> {
        self.0.get().ok_or(MixFault::TooMuch)
    }
}

impl Recipe {
    /// The mix of the recipe for a crop in a tray.
    ///
    /// First what does not serve the crop or what its way of life does not bear falls away:
    /// of a part with choices another choice is taken, if one will do; else the carrier that
    /// the ingredient names takes its share, if that will do. Then the recipe's changes apply
    /// in order.
    ///
    /// # Errors
    /// [`MixFault`] if no part is left, the parts cannot be summed exactly or the work is used up.
    pub fn variant(
        &self,
        wanted: &[Handle<Ingredient>],
        mix_for: MixFor<'_>,
        catalogue: &Catalogue,
        work: &Work,
    ) -> Result<Variant, MixFault> {
        let mix = Mix::for_crop(self, wanted, mix_for, catalogue, work)?;
        self.changed(mix, &self.changes_for(mix_for, work)?, work)
    }

    /// The changes that hold for a crop in a tray, by their places.
    fn changes_for(&self, mix_for: MixFor<'_>, work: &Work) -> Result<Vec<usize>, MixFault> {
        if mix_for.crop.is_none() {
            return Ok(Vec::new());
        }
        let tray = mix_for.tray.map(|tray| &**tray);
        let mut holding = Vec::new();
        for (place, Change { crops, .. }) in self.changes.iter().enumerate() {
            work.take(crops.looks())?;
            if crops.includes(mix_for.crop, None, tray) {
                holding.push(place);
            }
        }
        Ok(holding)
    }

    /// A mix after some of the changes.
    fn changed(&self, mut mix: Mix, changes: &[usize], work: &Work) -> Result<Variant, MixFault> {
        let (mut sieve, mut top, mut yield_) = (None, None, self.yield_.unwrap_or_else(default_yield));
        for change in changes.iter().map(|place| &self.changes[*place]) {
            let entries = change.drop.len() + change.add.len() + change.set.len();
            work.take(entries * (mix.parts.len() + mix.doses.len() + entries))?;
            mix.apply(change)?;
            sieve = change.sieve.or(sieve);
            top = change.top.or(top);
            yield_ = change.yield_.unwrap_or(yield_);
        }
        work.take(mix.left_out.len() * (mix.parts.len() + mix.doses.len()))?;
        mix.drop_doses_without_their_base();
        if mix.parts.is_empty() {
            return Err(MixFault::Empty);
        }
        let left_out = mix.really_left_out();
        Ok(Variant { composition: Composition { parts: mix.parts, doses: mix.doses, sieve, yield_ }, top, left_out })
    }

    /// Tries the changes for every crop, by volume and in the smallest and the largest cells of the tables;
    /// the same changes to the same mix once.
    ///
    /// # Errors
    /// In words, the first crop for which they leave no mix where the recipe without them has one, and the
    /// place of the last change for it; without a place where they are more than can be tried.
    pub fn fault_of_changes(&self, catalogue: &Catalogue, work: &Work) -> Result<(), (Option<Span>, String)> {
        let no_place = |fault: MixFault| (None, fault.to_string());
        if self.changes.is_empty() {
            return Ok(());
        }
        let trays = usual_ends(catalogue);
        let mut tried = HashSet::new();
        for crop in catalogue.crops.iter().filter_map(|crop| catalogue.crops.find(&crop.name)) {
            for tray in trays.iter().map(Option::as_ref) {
                let mix_for = MixFor { crop: Some(&crop), tray, ..MixFor::default() };
                let changes = self.changes_for(mix_for, work).map_err(no_place)?;
                let mix = match Mix::for_crop(self, &[], mix_for, catalogue, work) {
                    Ok(mix) => mix,
                    Err(MixFault::TooMuch) => return Err(no_place(MixFault::TooMuch)),
                    Err(_) => continue,
                };
                if changes.is_empty() || !tried.insert((changes.clone(), mix.amounts())) {
                    continue;
                }
                let made = |changes: &[usize]| {
                    let variant = self.changed(mix.clone(), changes, work)?;
                    variant.composition.shares().map(|_| ()).ok_or(MixFault::Digits)
                };
                match (made(&[]), made(&changes)) {
                    (Err(MixFault::TooMuch), _) | (_, Err(MixFault::TooMuch)) => {
                        return Err(no_place(MixFault::TooMuch));
                    }
                    (Ok(()), Err(fault)) => {
                        let at = changes.last().map(|change| self.changes[*change].at);
                        return Err((at, format!("by its changes for {}, {fault}", crop.name)));
                    }
                    _ => {}
                }
            }
        }
        Ok(())
    }
}

/// No tray, that of the smallest cells and that of the largest.
pub(super) fn usual_ends(catalogue: &Catalogue) -> [Option<Handle<Tray>>; 3] {
    let by_cell = |one: &&Tray, other: &&Tray| one.cell.partial_cmp(&other.cell).unwrap_or(Ordering::Equal);
    let ends = [None, catalogue.trays.iter().min_by(by_cell), catalogue.trays.iter().max_by(by_cell)];
    ends.map(|tray| tray.and_then(|tray| catalogue.trays.find(&tray.name)))
}

impl Change {
    /// Parts after it; `None` if they have too many digits.
    pub(super) fn of_parts(
        &self,
        parts: &[(Handle<Ingredient>, Fraction)],
    ) -> Option<Vec<(Handle<Ingredient>, Fraction)>> {
        let total = parts.iter().try_fold(Fraction::ZERO, |sum, (_, parts)| sum.plus(*parts))?;
        let mut mix = Mix { total, parts: parts.to_vec(), doses: Vec::new(), left_out: Vec::new() };
        mix.apply(self).ok().map(|()| mix.parts)
    }
}

impl MixFor<'_> {
    /// Why the mix goes without an ingredient; `None` for one that belongs in it.
    fn goes_without(&self, ingredient: &Ingredient) -> Option<Why> {
        let MixFor { crop, tray, inoculant, in_plugs } = *self;
        let tray = tray.map(|tray| &**tray);
        let status = crop.map_or(Status::Host, |crop| crop.mycorrhiza);
        match (&ingredient.serves, inoculant) {
            (Some(_), Some(false)) => Some(Why::Asked),
            (Some(served), None) if !served.serves_status(status) => Some(Why::NotServed(status)),
            (Some(served), None) if !served.includes(crop, Some(Status::Host), tray) => Some(Why::NotAmong),
            (Some(served), None) if in_plugs && served.is_by_mycorrhiza() => Some(Why::InPlugs),
            _ if ingredient.not_for.contains(&status) => Some(Why::NotFor(status)),
            _ => None,
        }
    }

    /// The carrier that takes the share of an ingredient left out: the one it names, or
    /// that one's own where the mix goes without it too, and so on.
    fn carrier(
        &self,
        ingredient: &Handle<Ingredient>,
        catalogue: &Catalogue,
        work: &Work,
    ) -> Result<Option<Handle<Ingredient>>, MixFault> {
        let named = |by: &Ingredient| by.instead.as_deref().and_then(|name| catalogue.ingredients.find(name));
        let mut seen = HashSet::from([ingredient.clone()]);
        let mut next = named(ingredient);
        while let Some(carrier) = next {
            // To find a name takes as long as many looks.
            work.take(100 + looks(&carrier))?;
            if seen.contains(&carrier) {
                break;
            }
            if self.goes_without(&carrier).is_none() {
                return Ok(Some(carrier));
            }
            next = named(&carrier);
            seen.insert(carrier);
        }
        Ok(None)
    }
}

/// How much is looked at to tell whether an ingredient belongs in a mix.
fn looks(ingredient: &Handle<Ingredient>) -> usize {
    1 + ingredient.not_for.len() + ingredient.serves.as_ref().map_or(0, CropChoice::looks)
}

/// What a mix holds, to be compared.
type Amounts = (Vec<(Handle<Ingredient>, Fraction)>, Vec<(Handle<Ingredient>, Rate, Basis)>);

/// A mix in the making.
#[derive(Clone)]
struct Mix {
    total: Fraction,
    parts: Vec<(Handle<Ingredient>, Fraction)>,
    doses: Vec<Dose>,
    left_out: Vec<LeftOut>,
}

impl Mix {
    /// The recipe's parts and doses that serve a crop and that it bears.
    fn for_crop(
        recipe: &Recipe,
        wanted: &[Handle<Ingredient>],
        mix_for: MixFor<'_>,
        catalogue: &Catalogue,
        work: &Work,
    ) -> Result<Self, MixFault> {
        let total = recipe.parts.iter().try_fold(Fraction::ZERO, |sum, part| sum.plus(part.amount));
        let total = total.ok_or(MixFault::Digits)?;
        let mut mix = Self { total, parts: Vec::new(), doses: Vec::new(), left_out: Vec::new() };
        let mut carried = Vec::new();
        for part in &recipe.parts {
            work.take(part.choices.len() * wanted.len() + part.choices.iter().map(looks).sum::<usize>())?;
            let chosen = part.chosen(wanted);
            let Some(why) = mix_for.goes_without(chosen) else {
                mix.parts.push((chosen.clone(), part.amount));
                continue;
            };
            let mut in_order = wanted.iter().filter(|id| part.choices.contains(id)).chain(&part.choices);
            let choice = in_order.find(|id| mix_for.goes_without(id).is_none()).cloned();
            mix.parts.extend(choice.clone().map(|choice| (choice, part.amount)));
            let carrier = if choice.is_none() { mix_for.carrier(chosen, catalogue, work)? } else { None };
            carried.extend(carrier.clone().map(|carrier| (carrier, part.amount)));
            let (ingredient, share) = (chosen.clone(), mix.share(part.amount)?);
            mix.left_out.push(LeftOut { ingredient, why, share, instead: choice.or(carrier) });
        }
        // After all parts: what a carrier has of its own keeps its place.
        for (carrier, amount) in carried {
            mix.add_parts(&carrier, amount)?;
        }
        for dose in &recipe.doses {
            work.take(looks(&dose.ingredient))?;
            match mix_for.goes_without(&dose.ingredient) {
                None => mix.doses.push(dose.clone()),
                Some(why) => mix.leave_out_dose(dose.clone(), why),
            }
        }
        Ok(mix)
    }

    fn amounts(&self) -> Amounts {
        let doses = self.doses.iter().map(|dose| (dose.ingredient.clone(), dose.rate, dose.basis.clone()));
        (self.parts.clone(), doses.collect())
    }

    /// The share that a part has of the recipe.
    fn share(&self, amount: Fraction) -> Result<RecipeShare, MixFault> {
        Ok(RecipeShare::Part(amount.over(self.total).ok_or(MixFault::Digits)?.to_f64()))
    }

    fn leave_out_dose(&mut self, dose: Dose, why: Why) {
        let ingredient = dose.ingredient.clone();
        self.left_out.push(LeftOut { ingredient, why, share: RecipeShare::Dose(dose), instead: None });
    }

    /// Drops an ingredient, as a part and in every dose, as a change says.
    fn drop(&mut self, id: &Handle<Ingredient>, instead: Option<&Handle<Ingredient>>) -> Result<(), MixFault> {
        if let Some(index) = self.parts.iter().position(|(part, _)| part == id) {
            let (_, amount) = self.parts.remove(index);
            if let Some(carrier) = instead {
                self.add_parts(carrier, amount)?;
            }
            let (ingredient, share) = (id.clone(), self.share(amount)?);
            self.left_out.push(LeftOut { ingredient, why: Why::Change, share, instead: instead.cloned() });
        }
        let dropped: Vec<Dose> = self.doses.extract_if(.., |dose| dose.ingredient == *id).collect();
        for dose in dropped {
            self.leave_out_dose(dose, Why::Change);
        }
        Ok(())
    }

    /// Without what a later change brought back. A dose that lacks its base stays: another
    /// of the same name does not make up for it.
    fn really_left_out(&self) -> Vec<LeftOut> {
        let is_back = |out: &LeftOut| match out.share {
            RecipeShare::Part(_) => self.parts.iter().any(|(part, _)| *part == out.ingredient),
            RecipeShare::Dose(_) => self.doses.iter().any(|dose| dose.ingredient == out.ingredient),
        };
        let stays = |out: &&LeftOut| matches!(out.why, Why::NoneOf(_) | Why::Limed(_)) || !is_back(out);
        self.left_out.iter().filter(stays).cloned().collect()
    }

    fn add_parts(&mut self, id: &Handle<Ingredient>, amount: Fraction) -> Result<(), MixFault> {
        let parts = self.amount_of(id);
        *parts = parts.plus(amount).ok_or(MixFault::Digits)?;
        Ok(())
    }

    /// How many parts the mix has of an ingredient, which becomes its last part if it is none.
    fn amount_of(&mut self, id: &Handle<Ingredient>) -> &mut Fraction {
        let place = self.parts.iter().position(|(part, _)| part == id).unwrap_or(self.parts.len());
        if place == self.parts.len() {
            self.parts.push((id.clone(), Fraction::ZERO));
        }
        &mut self.parts[place].1
    }

    fn apply(&mut self, change: &Change) -> Result<(), MixFault> {
        for id in &change.drop {
            self.drop(id, change.instead.as_ref())?;
        }
        for (id, amount) in &change.add {
            match amount {
                PartsOrDose::Parts(parts) => self.add_parts(id, *parts)?,
                PartsOrDose::Dose(rate, basis) => {
                    self.add_dose(Dose::new(id, *rate, basis.as_ref().unwrap_or(&Basis::Finished)));
                }
            }
        }
        for (id, amount) in &change.set {
            match amount {
                PartsOrDose::Parts(amount) => *self.amount_of(id) = *amount,
                PartsOrDose::Dose(rate, basis) => {
                    let before: Vec<Dose> = self.doses.extract_if(.., |dose| dose.ingredient == *id).collect();
                    // A plain rate is still per what the recipe doses it on.
                    let kept = || before.first().map(|dose| &dose.basis);
                    self.doses.push(Dose::new(id, *rate, basis.as_ref().or_else(kept).unwrap_or(&Basis::Finished)));
                }
            }
        }
        Ok(())
    }

    fn add_dose(&mut self, more: Dose) {
        let same = self.doses.iter_mut().find(|dose| dose.ingredient == more.ingredient && dose.basis == more.basis);
        match same.and_then(|dose| dose.rate.plus(more.rate).map(|sum| (dose, sum))) {
            Some((dose, sum)) => dose.rate = sum,
            None => self.doses.push(more),
        }
    }

    /// Drops every dose that counts on an ingredient that is no part of the mix.
    fn drop_doses_without_their_base(&mut self) {
        for dose in std::mem::take(&mut self.doses) {
            match &dose.basis {
                Basis::Of(base) if !self.parts.iter().any(|(part, _)| part == base) => {
                    let is_lime = dose.ingredient.is(Role::Lime) && base.is_raw_peat();
                    let limed = self.parts.iter().find(|(part, _)| is_lime && part.is_limed_peat());
                    let why = limed.map_or_else(|| Why::NoneOf(base.clone()), |(part, _)| Why::Limed(part.clone()));
                    self.leave_out_dose(dose, why);
                }
                _ => self.doses.push(dose),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Problems, SourceText};
    use crate::source::{Fields, parse};
    use std::sync::Arc;

    fn read(recipe: &str) -> (Recipe, Catalogue) {
        let source = Arc::new(SourceText { name: "recipe.yaml".to_owned(), text: format!("recipe: r\n{recipe}") });
        let problems = Problems::new(Arc::clone(&source));
        let mut catalogue = Catalogue::built_in();
        let node = parse(&source.text, &problems).unwrap();
        let mut fields = Fields::new(&node, "a recipe", &problems).unwrap();
        catalogue.add_unless_own(&mut fields, &problems);
        let recipe = Recipe::read(&mut fields, &catalogue, &problems).unwrap();
        assert!(problems.is_empty());
        (recipe, catalogue)
    }

    /// The mix of a recipe for a crop in words: parts; doses; what is left out.
    fn mix(recipe: &str, crop: Option<&str>, wanted: &[&str]) -> String {
        let (recipe, catalogue) = read(recipe);
        let id = |name: &&str| catalogue.ingredients.find(name).unwrap();
        let wanted: Vec<Handle<Ingredient>> = wanted.iter().map(id).collect();
        let crop = crop.map(|name| catalogue.crops.find(name).unwrap());
        let mix_for = MixFor { crop: crop.as_ref(), ..MixFor::default() };
        let variant = match recipe.variant(&wanted, mix_for, &catalogue, &Work::default()) {
            Ok(variant) => variant,
            Err(fault) => return fault.to_string(),
        };
        let parts = variant.composition.parts.iter().map(|(id, parts)| format!("{parts} {}", id.name));
        let doses = variant.composition.doses.iter().map(|dose| {
            assert_eq!(dose.rate.spoon(), None);
            format!("{} g/L {}", dose.rate.per_litre().round(), dose.ingredient.name)
        });
        let left_out = variant.left_out.iter().map(|out| {
            let instead = out.instead.as_ref().map(|id| format!(" for {}", id.name)).unwrap_or_default();
            let what = if matches!(out.share, RecipeShare::Dose(_)) { "dose of " } else { "" };
            format!("no {what}{}{instead}", out.ingredient.name)
        });
        let words = [parts.collect::<Vec<_>>(), doses.collect(), left_out.collect()].map(|words| words.join(", "));
        words.join("; ")
    }

    /// Hundred changes for every crop, each of which names every part twice.
    fn laborious() -> (Recipe, Catalogue) {
        let each = |form: &str| (0..10).map(|part| form.replace('#', &part.to_string())).collect::<Vec<_>>().join(", ");
        let change = format!(
            "- {{for: {{mycorrhiza: [host, nonhost, variable, ericoid, orchid]}}, drop: [{}], set: {{{}}}}}\n",
            each("i#"),
            each("i#: 2")
        );
        read(&format!(
            "ingredients: {{{}}}\nparts: {{{}}}\nchanges:\n{}",
            each("i#: {kind: bulk}"),
            each("i#: 1"),
            change.repeat(100)
        ))
    }

    #[test]
    fn the_same_changes_of_the_same_mix_are_tried_once() {
        let (recipe, catalogue) = laborious();
        let work = Work::default();
        recipe.fault_of_changes(&catalogue, &work).unwrap();
        let looked_at = Work::default().left().unwrap() - work.left().unwrap();
        // For five hundred crops and cells the parts and the lists of words, and once the changes.
        let (words, changes) = (500 * (10 + 100 * (7 + 5)), 100 * 20 * (10 + 20) + 1_000 * 10);
        assert!(looked_at > 300 * 100 * 12 && looked_at <= words + changes, "{looked_at}");
    }

    #[test]
    fn the_work_of_many_mixes_has_one_bound() {
        let (recipe, catalogue) = laborious();
        let (kale, leek) = (catalogue.crops.find("kale").unwrap(), catalogue.crops.find("leek").unwrap());
        let work = Work::of(100_000);
        let made = |crop| {
            let mix_for = MixFor { crop: Some(crop), ..MixFor::default() };
            recipe.variant(&[], mix_for, &catalogue, &work).map(|_| ())
        };
        assert_eq!((made(&kale), made(&leek)), (Ok(()), Err(MixFault::TooMuch)));
        let fault = recipe.fault_of_changes(&catalogue, &Work::of(100_000)).unwrap_err();
        assert_eq!(fault, (None, MixFault::TooMuch.to_string()));
        // So has a long chain of what takes the place of what does not serve the crop.
        let chain = (0..1_000).map(|at| format!("i{at}: {{kind: bulk, serves: {{seed: dust}}, instead: i{}}}", at + 1));
        let chain = chain.collect::<Vec<_>>().join(", ");
        let (recipe, catalogue) = read(&format!("ingredients: {{{chain}, i1000: {{kind: bulk}}}}\nparts: {{i0: 1}}\n"));
        let kale = catalogue.crops.find("kale").unwrap();
        let mix_for = MixFor { crop: Some(&kale), ..MixFor::default() };
        let made = |work| recipe.variant(&[], mix_for, &catalogue, &Work::of(work)).map(|_| ());
        assert_eq!((made(200_000), made(20_000)), (Ok(()), Err(MixFault::TooMuch)));
        // And what is looked at for changes that do not hold.
        let (recipe, catalogue) =
            read(&format!("parts: {{peat: 1}}\nchanges: [{{for: [{}], sieve: 3 mm}}]", ["kale"; 100].join(", ")));
        assert_eq!(recipe.fault_of_changes(&catalogue, &Work::of(10_000)), Err((None, MixFault::TooMuch.to_string())));
    }

    #[test]
    fn only_the_dose_whose_base_is_absent_falls_away() {
        let recipe = "parts: {peat or coir: 3, castings: 1, perlite: 1}\n\
                      doses: {lime: 1 g/L, castings: {rate: 5 g/L, of: peat}}\n\
                      changes: [{for: kale, add: {lime: {rate: 2 g/L, of: peat}}}]\n";
        assert_eq!(
            mix(recipe, Some("kale"), &["coir"]),
            "3 coir, 1 castings, 1 perlite; 1 g/L lime; no dose of castings, no dose of lime"
        );
        assert_eq!(
            mix(recipe, Some("kale"), &[]),
            "3 peat, 1 castings, 1 perlite; 1 g/L lime, 5 g/L castings, 2 g/L lime; "
        );
    }

    #[test]
    fn a_drop_takes_the_part_and_every_dose() {
        let recipe = "parts: {peat: 3, castings: 1}\n\
                      doses: {lime: 1 g/L, castings: 2 g/L}\n\
                      changes: [{for: kale, add: {lime: {rate: 2 g/L, of: peat}}}, {for: kale, drop: [lime, castings]}]\n";
        assert_eq!(
            mix(recipe, Some("kale"), &[]),
            "3 peat; ; no dose of lime, no dose of lime, no castings, no dose of castings"
        );
    }

    #[test]
    fn what_a_change_brings_back_is_not_left_out() {
        let recipe = "parts: {peat: 3}\ndoses: {lime: 1 g/L}\n\
                      changes: [{for: kale, drop: lime}, {for: kale, add: {lime: 3 g/L}}]\n";
        assert_eq!(mix(recipe, Some("kale"), &[]), "3 peat; 3 g/L lime; ");
    }

    #[test]
    fn a_choice_that_the_crop_does_not_bear_gives_way_to_one_that_it_does() {
        let recipe = "parts: {limed peat or castings or peat or coir: 3, perlite: 1}\n";
        assert_eq!(mix(recipe, Some("kale"), &[]), "3 limed peat, 1 perlite; ; ");
        assert_eq!(mix(recipe, Some("blueberry"), &[]), "3 peat, 1 perlite; ; no limed peat for peat");
        let both = ["castings", "coir"];
        assert_eq!(mix(recipe, Some("blueberry"), &both), "3 coir, 1 perlite; ; no castings for coir");
        let none = "parts: {limed peat or castings: 3, perlite: 1}\n";
        assert_eq!(mix(none, Some("blueberry"), &[]), "1 perlite; ; no limed peat");
        let empty = "parts: {limed peat or castings: 3}\n";
        assert_eq!(mix(empty, Some("blueberry"), &[]), MixFault::Empty.to_string());
    }

    #[test]
    fn a_carrier_must_suit_the_crop_itself() {
        let with = |carriers: &str| {
            format!(
                "ingredients: {{inoculum: {{serves: {{mycorrhiza: host}}, {carriers}}}\nparts: {{peat: 9, inoculum: 1}}\n"
            )
        };
        let castings = with("instead: castings}");
        assert_eq!(mix(&castings, Some("kale"), &[]), "9 peat, 1 castings; ; no inoculum for castings");
        assert_eq!(mix(&castings, Some("blueberry"), &[]), "9 peat; ; no inoculum");
        let chain = with("instead: other}, other: {not_for: ericoid, instead: perlite}");
        assert_eq!(mix(&chain, Some("blueberry"), &[]), "9 peat, 1 perlite; ; no inoculum for perlite");
        let circle = with("instead: other}, other: {not_for: nonhost, instead: inoculum}");
        assert_eq!(mix(&circle, Some("kale"), &[]), "9 peat; ; no inoculum");
    }

    #[test]
    fn every_trait_says_whom_an_ingredient_serves() {
        let recipe = "ingredients: {tea: {serves: {family: Solanaceae, mycorrhiza: host}}, dust: {serves: {seed: dust}}}\n\
                      parts: {peat: 1}\ndoses: {tea: 1 g/L, dust: 2 g/L, inoculant: 3 g/L}\n";
        assert_eq!(mix(recipe, Some("tomato"), &[]), "1 peat; 1 g/L tea, 3 g/L inoculant; no dose of dust");
        assert_eq!(mix(recipe, Some("leek"), &[]), "1 peat; 3 g/L inoculant; no dose of tea, no dose of dust");
        assert_eq!(
            mix(recipe, Some("begonia"), &[]).split("; ").nth(1).unwrap().split(", ").next(),
            Some("2 g/L dust")
        );
        // Without a crop: a host of which nothing else is known.
        assert_eq!(mix(recipe, None, &[]), "1 peat; 3 g/L inoculant; no dose of tea, no dose of dust");
    }
}
