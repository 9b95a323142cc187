//! What is at hand, and taking out of it: never below nothing.

use super::package::Package;
use crate::catalogue::{Handle, Ingredient, Role, UsedAs};
use crate::diagnostic::Span;
use crate::units::{Quantity, Tally, Volume, fits, in_litres, serial};
use jiff::civil::Date;
use serde::Serialize;
use std::cmp::Reverse;

/// Litres below which nothing is kept; nor, where it is less than a hundredth of the need as well, is more mixed, soaked
/// or bought for what is lacking: amounts are written to the thousandth, rounded down.
pub const LEAST_L: f64 = 0.05;

/// Days that soaked coir keeps, drained, hand-moist, loosely covered and cool (common practice, no source).
pub const SOAKED_KEEPS_DAYS: i32 = 21;

/// Whether so little is lacking of a need, both in litres, that no more is made for it.
pub fn is_met(need: f64, lacking: f64) -> bool {
    lacking < LEAST_L && lacking < need / 100.0
}

/// What is at hand of every ingredient of the stock file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shed {
    /// In the order of the file.
    pub(super) entries: Vec<(Handle<Ingredient>, Vec<Line>)>,
}

/// One amount as it stands in the file: `40 L + 2 x 5 kg block`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// Its place in the file; `None` for one that is not there yet.
    pub(super) at: Option<Span>,
    pub(super) terms: Vec<Term>,
    /// When it was made, where that is known: of soaked coir.
    pub(super) made: Option<Date>,
    /// Where that stands in the file.
    pub(super) made_at: Option<Span>,
    /// Litres of it that are not to be used: without end what is too old or not made yet.
    pub(super) aside: f64,
}

/// One summand of an amount.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Term {
    /// As written; empty once it is changed.
    pub(super) written: String,
    /// What is left of it.
    pub(super) left: Quantity,
    /// The package it is counted in, with what one gives.
    pub(super) package: Option<(String, f64)>,
}

impl Term {
    /// So many packages, not written yet.
    fn of_package(package: &Package, count: f64) -> Self {
        Self {
            written: String::new(),
            left: package.gives.of_size(package.gives.size() * count),
            package: Some((package.label.clone(), package.gives.size())),
        }
    }

    /// As it is to be written: what nobody touched stays, whole packages stay packages,
    /// an opened one is told by what is left in it; nothing where nothing is left.
    fn text(&self) -> Option<String> {
        if self.left.size() <= 0.0 {
            return None;
        }
        if !self.written.is_empty() {
            return Some(self.written.clone());
        }
        let mut rest = self.left.size();
        let mut words = Vec::new();
        if let Some((label, each)) = &self.package {
            // Litres or grams alike: how many times one goes into the other.
            let whole = fits(in_litres(rest), in_litres(*each)).unwrap_or(0);
            if whole > 0 {
                words.push(format!("{whole} x {label}"));
                rest -= whole as f64 * each;
            }
        }
        let rest = self.left.of_size(rest.max(0.0)).written();
        if !rest.starts_with("0 ") {
            words.push(rest);
        }
        (!words.is_empty()).then(|| words.join(" + "))
    }
}

impl Line {
    fn text(&self, like: Quantity) -> String {
        let words: Vec<String> = self.terms.iter().filter_map(Term::text).collect();
        if words.is_empty() { format!("0 {}", like.unit()) } else { words.join(" + ") }
    }

    /// Adds a loose amount.
    fn add(&mut self, amount: Quantity) {
        let loose = self.terms.iter_mut().find(|term| term.package.is_none() && term.left.is_like(amount));
        let left = amount.of_size(loose.as_ref().map_or(0.0, |term| term.left.size()) + amount.size());
        let term = Term { written: String::new(), left, package: None };
        match loose {
            Some(loose) => *loose = term,
            None => self.terms.push(term),
        }
    }

    fn amount_text(&self) -> String {
        self.terms.first().map(|term| self.text(term.left)).unwrap_or_default()
    }

    /// With its day, where that is known.
    fn whole(&self) -> String {
        let amount = self.amount_text();
        self.made.map(|made| format!("{{amount: {amount}, made: {made}}}")).unwrap_or(amount)
    }

    /// Whether some of it is left, as it is written.
    fn is_left(&self) -> bool {
        self.terms.iter().any(|term| term.text().is_some())
    }

    /// How much of it may be used, of what is counted like `like`.
    fn usable(&self, like: Quantity) -> f64 {
        let alike = self.terms.iter().filter(|term| term.left.is_like(like)).map(|term| term.left.size());
        (alike.sum::<f64>() - self.aside).max(0.0)
    }
}

/// What something is taken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UsedFor {
    /// A batch, by its name.
    Batch(String),
    /// Scoops are rounded so that no batch comes out short.
    Scoops,
    /// Seed is covered.
    Covering,
    /// Coir is soaked as it is weighed out.
    Soak,
}

impl UsedFor {
    /// What for, as it is shown and logged.
    pub fn as_str(&self) -> &str {
        match self {
            Self::Batch(name) => name,
            Self::Scoops => "what the scoops add",
            Self::Covering => "covering the seed",
            Self::Soak => "soaked beyond the need",
        }
    }
}

/// So much of an ingredient that is used.
#[derive(Clone, Debug, PartialEq)]
pub struct Use {
    /// What for.
    pub purpose: UsedFor,
    /// What.
    pub ingredient: Handle<Ingredient>,
    /// How much.
    pub amount: Quantity,
    /// The share of it that is to be coir which nobody soaked, where it is coir: of a trial.
    pub straight: f64,
}

impl Use {
    /// So much of an ingredient for a purpose.
    pub fn new(purpose: UsedFor, ingredient: &Handle<Ingredient>, amount: Quantity) -> Self {
        Self { purpose, ingredient: ingredient.clone(), amount, straight: 0.0 }
    }
}

/// An amount taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// For what.
    pub used: Use,
    /// The packages it was taken from; empty for loose material.
    pub packages: Vec<String>,
    /// What is left of the ingredient, as written into the file.
    pub left: String,
}

/// A need set against what is at hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Balance {
    /// Of what.
    pub ingredient: Handle<Ingredient>,
    /// How much is needed in all.
    #[serde(flatten, serialize_with = "serial::need")]
    pub need: Quantity,
    /// How much there is, counted as the need is.
    #[serde(flatten, serialize_with = "serial::on_hand")]
    pub on_hand: Quantity,
    /// How much is lacking; zero where there is enough.
    #[serde(flatten, serialize_with = "serial::lacking")]
    pub lacking: Quantity,
    /// Some is at hand that is counted the other way, by weight or by volume.
    #[serde(skip)]
    pub is_unlike: bool,
}

impl Balance {
    /// What is left once the need is met, with so many litres or grams more.
    pub fn left_with(&self, more: f64) -> Quantity {
        self.need.of_size((self.on_hand.size() + more - self.need.size()).max(0.0))
    }

    /// Whether there is not enough.
    pub fn is_short(&self) -> bool {
        self.lacking.size() > 0.0
    }
}

/// A new text for an amount of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Rewritten {
    /// Of what.
    pub ingredient: Handle<Ingredient>,
    /// Where it stands; `None` for an ingredient that is not in the file yet.
    pub at: Option<Span>,
    /// What is to stand there.
    pub text: String,
}

impl Shed {
    /// The ingredients that the file lists.
    pub fn ingredients(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.entries.iter().map(|(id, _)| id)
    }

    fn lines(&self, ingredient: &Handle<Ingredient>) -> impl Iterator<Item = &Line> {
        self.entries.iter().filter(move |(id, _)| id == ingredient).flat_map(|(_, lines)| lines)
    }

    fn terms(&self, ingredient: &Handle<Ingredient>) -> impl Iterator<Item = &Term> {
        self.lines(ingredient).flat_map(|line| &line.terms)
    }

    /// What is at hand and may be used, counted like `like`: by volume or by weight.
    pub fn at_hand(&self, ingredient: &Handle<Ingredient>, like: Quantity) -> Quantity {
        let sum: f64 = self.lines(ingredient).map(|line| line.usable(like)).sum();
        // The sum of nothing is -0.0.
        like.of_size(sum + 0.0)
    }

    /// The packages that some of it is in, by their labels, with what is left of them.
    pub fn packaged(&self, ingredient: &Handle<Ingredient>) -> impl Iterator<Item = (&str, Quantity)> {
        let left = self.terms(ingredient).filter(|term| term.left.size() > 0.0);
        left.filter_map(|term| Some((term.package.as_ref()?.0.as_str(), term.left)))
    }

    /// Whether there is some that is counted the other way, so that it cannot be set
    /// against a need like `like`.
    pub fn is_unlike(&self, ingredient: &Handle<Ingredient>, like: Quantity) -> bool {
        self.terms(ingredient).any(|term| !term.left.is_like(like) && term.left.size() > 0.0)
    }

    /// The same with the soaked coir that stands in for coir.
    pub fn serving(&self, ingredient: &Handle<Ingredient>, like: Quantity) -> Quantity {
        let own = self.at_hand(ingredient, like);
        let soaked = self.soaked_coir().filter(|_| ingredient.is(Role::Coir));
        soaked.fold(own, |sum, id| sum.of_size(sum.size() + self.at_hand(id, own).size()))
    }

    /// Coir that is soaked already.
    pub fn soaked_coir(&self) -> impl Iterator<Item = &Handle<Ingredient>> {
        self.ingredients().filter(|id| id.is(Role::SoakedCoir))
    }

    /// Amounts with what soaked coir at hand stands in for parted from the coir that is still wanted; such a share of
    /// the coir stays `straight`.
    pub fn parted(
        &self,
        amounts: impl IntoIterator<Item = (Handle<Ingredient>, Quantity)>,
        straight: f64,
    ) -> Vec<(Handle<Ingredient>, Quantity)> {
        let uses = amounts.into_iter().map(|(id, amount)| Use { straight, ..Use::new(UsedFor::Soak, &id, amount) });
        self.parted_uses(&uses.collect::<Vec<_>>()).into_iter().map(|used| (used.ingredient, used.amount)).collect()
    }

    /// The same of uses, those of the first batch first.
    fn parted_uses(&self, uses: &[Use]) -> Vec<Use> {
        let none = Quantity::Volume(in_litres(0.0));
        let mut soaked: Vec<_> = self.soaked_coir().map(|id| (id, self.at_hand(id, none).size())).collect();
        let is_coir = |used: &Use| used.ingredient.is(Role::Coir) && used.amount.litres().is_some();
        let kept = |used: &Use| used.amount.size() * used.straight;
        let need: f64 = uses.iter().filter(|used| is_coir(used)).map(|used| used.amount.size() - kept(used)).sum();
        let is_met = is_met(need, need - soaked.iter().map(|(_, left)| left).sum::<f64>());
        let mut parted = Vec::new();
        for used in uses {
            let mut rest = used.amount.size();
            for (id, left) in soaked.iter_mut().filter(|_| is_coir(used)) {
                let taken = left.min(rest - kept(used));
                if taken > 0.0 {
                    *left -= taken;
                    rest -= taken;
                    parted.push(Use::new(used.purpose.clone(), id, used.amount.of_size(taken)));
                }
            }
            if is_met && is_coir(used) {
                rest = kept(used);
            }
            if rest > 0.0 || used.amount.size() <= 0.0 {
                parted.push(Use { amount: used.amount.of_size(rest), ..used.clone() });
            }
        }
        parted
    }

    /// Sets a need against what is at hand; a part in a billion short is not short.
    pub fn balance(&self, ingredient: &Handle<Ingredient>, need: Quantity) -> Balance {
        let on_hand = self.at_hand(ingredient, need);
        let is_enough = need.size() <= on_hand.size() * (1.0 + 1e-9);
        let lacking = need.of_size(if is_enough { 0.0 } else { need.size() - on_hand.size() });
        let is_unlike = self.is_unlike(ingredient, need);
        Balance { ingredient: ingredient.clone(), need, on_hand, lacking, is_unlike }
    }

    /// Puts packages on the shelf.
    pub fn add(&mut self, ingredient: &Handle<Ingredient>, package: &Package, count: u64) {
        self.line(ingredient).terms.push(Term::of_package(package, count as f64));
    }

    /// Puts coir on the shelf that was soaked for a day. Together with some that is there it is as old as that.
    pub fn add_soaked(&mut self, soaked: &Handle<Ingredient>, amount: Quantity, day: Option<Date>) {
        let line = self.line(soaked);
        if !line.is_left() {
            line.made = day.or(line.made);
        }
        line.add(amount);
    }

    /// On the day of a mix: soaked coir that is older then than it keeps, or not made yet, is not to be used. Without a
    /// day all is.
    pub fn on(&mut self, day: Option<Date>) {
        for line in self.entries.iter_mut().filter(|(id, _)| id.is(Role::SoakedCoir)).flat_map(|(_, lines)| lines) {
            let age = day.zip(line.made).map(|(day, made)| (day - made).get_days());
            let keeps = age.is_none_or(|age| (0..=SOAKED_KEEPS_DAYS).contains(&age));
            line.aside = if keeps { 0.0 } else { f64::INFINITY };
        }
    }

    /// Leaves so many litres of an ingredient unused, the last that was made first; says whether there were any.
    pub(super) fn set_aside(&mut self, name: &str, litres: f64) -> bool {
        let mut lines: Vec<&mut Line> =
            self.entries.iter_mut().filter(|(id, _)| id.name == name).flat_map(|(_, lines)| lines).collect();
        lines.sort_by_key(|line| Reverse(line.made));
        let left = lines.into_iter().fold(litres, |rest, line| {
            let aside = line.usable(Quantity::Volume(in_litres(rest))).min(rest);
            line.aside += aside;
            rest - aside
        });
        left < litres
    }

    fn soaked_lines(&self) -> impl Iterator<Item = &Line> {
        let soaked = self.entries.iter().filter(|(id, _)| id.is(Role::SoakedCoir)).flat_map(|(_, lines)| lines);
        soaked.filter(|line| line.is_left())
    }

    /// The days on which soaked coir at hand was made, in order; `None` for some of which that is not known.
    pub fn soaked_on(&self) -> Vec<Option<Date>> {
        let mut days: Vec<_> = self.soaked_lines().map(|line| line.made).collect();
        days.sort_unstable();
        days
    }

    /// Soaked coir that is too old to be used, or not made yet, with the day on which it was made.
    pub fn unfit(&self) -> impl Iterator<Item = (Volume, Date)> {
        let unfit = self.soaked_lines().filter(|line| line.aside == f64::INFINITY);
        unfit.filter_map(|line| {
            let litres = line.terms.iter().filter_map(|term| term.left.litres()).sum();
            Some((in_litres(litres), line.made?))
        })
    }

    /// Takes all soaked coir away.
    pub fn drop_soaked(&mut self) {
        self.entries.retain(|(id, _)| !id.is(Role::SoakedCoir));
    }

    /// Puts a loose amount on the shelf.
    pub fn add_loose(&mut self, ingredient: &Handle<Ingredient>, amount: Quantity) {
        self.line(ingredient).add(amount);
    }

    /// The first amount of an ingredient that may be used, for more of it: a new one where there is none.
    fn line(&mut self, ingredient: &Handle<Ingredient>) -> &mut Line {
        let entry = self.entries.iter().position(|(id, _)| id == ingredient).unwrap_or_else(|| {
            self.entries.push((ingredient.clone(), Vec::new()));
            self.entries.len() - 1
        });
        let lines = &mut self.entries[entry].1;
        let place = lines.iter().position(|line| line.aside.is_finite()).unwrap_or_else(|| {
            lines.push(Line::default());
            lines.len() - 1
        });
        &mut lines[place]
    }

    /// Whether it cannot be set against what is at hand: that is counted the other way, or it goes by the spoon.
    pub fn is_uncounted(&self, used: &Use) -> bool {
        let Use { ingredient, amount, .. } = used;
        let by_spoon = ingredient.kind == Some(UsedAs::Dose) && amount.litres().is_some();
        let has_none = self.serving(ingredient, *amount).size() <= 0.0;
        has_none && (by_spoon || self.is_unlike(ingredient, *amount))
    }

    /// Takes amounts out, what was made first and loose material before packages, those of the first batch first.
    ///
    /// # Errors
    /// The ingredients of which there is not enough; then nothing is taken.
    pub fn take(&mut self, uses: &[Use]) -> Result<Vec<Taken>, Vec<Balance>> {
        let uses = self.parted_uses(uses);
        let needs: Tally<Handle<Ingredient>, Quantity> =
            uses.iter().map(|used| (used.ingredient.clone(), used.amount)).collect();
        let short: Vec<Balance> =
            needs.into_iter().map(|(id, need)| self.balance(&id, need)).filter(Balance::is_short).collect();
        if !short.is_empty() {
            return Err(short);
        }
        Ok(uses.iter().map(|used| self.take_from(used)).collect())
    }

    fn take_from(&mut self, used: &Use) -> Taken {
        let mut need = used.amount.size();
        let mut packages = Vec::new();
        for loose in [true, false] {
            let entries = self.entries.iter_mut().filter(|(id, _)| *id == used.ingredient);
            let mut lines: Vec<&mut Line> = entries.flat_map(|(_, lines)| lines).collect();
            // What is of unknown age last.
            lines.sort_by_key(|line| (line.made.is_none(), line.made));
            for line in lines {
                let mut wanted = line.usable(used.amount).min(need);
                let is_one = |term: &&mut Term| term.left.is_like(used.amount) && term.package.is_none() == loose;
                for term in line.terms.iter_mut().filter(is_one) {
                    let taken = wanted.min(term.left.size());
                    if taken <= 0.0 {
                        continue;
                    }
                    need -= taken;
                    wanted -= taken;
                    term.left = term.left.of_size((term.left.size() - taken).max(0.0));
                    term.written.clear();
                    packages.extend(term.package.iter().map(|(label, _)| label.clone()));
                }
            }
        }
        Taken { used: used.clone(), packages, left: self.text(&used.ingredient, used.amount) }
    }

    /// What is left of an ingredient: of several lots those that are not used up, by their days.
    fn text(&self, ingredient: &Handle<Ingredient>, like: Quantity) -> String {
        let mut lots: Vec<&Line> = self.lines(ingredient).filter(|line| line.is_left()).collect();
        lots.sort_by_key(|line| line.made);
        let words = |line: &&Line| match line.made.filter(|_| lots.len() > 1) {
            Some(made) => format!("{} of {made}", line.text(like)),
            None => line.text(like),
        };
        let words: Vec<String> = lots.iter().map(words).collect();
        if words.is_empty() { format!("0 {}", like.unit()) } else { words.join("; ") }
    }

    /// All amounts of an ingredient as one value of the file, with their days.
    pub fn written(&self, ingredient: &Handle<Ingredient>) -> String {
        let lines: Vec<String> = self.lines(ingredient).map(Line::whole).collect();
        if let [line] = &lines[..] { line.clone() } else { format!("[{}]", lines.join(", ")) }
    }

    /// Where the first amount of an ingredient stands in the file.
    pub(super) fn place_of(&self, ingredient: &Handle<Ingredient>) -> Option<Span> {
        self.lines(ingredient).next()?.at
    }

    /// The amounts whose text has changed.
    pub fn rewritten(&self) -> Vec<Rewritten> {
        let lines = self.entries.iter().flat_map(|(id, lines)| lines.iter().map(move |line| (id, line)));
        lines
            .filter(|(_, line)| line.terms.iter().any(|term| term.written.is_empty()))
            .flat_map(|(ingredient, line)| {
                let texts = match line.made_at.zip(line.made).filter(|_| line.at.is_some()) {
                    Some((at, made)) => vec![(line.at, line.amount_text()), (Some(at), made.to_string())],
                    None => vec![(line.at, line.whole())],
                };
                texts.into_iter().map(|(at, text)| Rewritten { ingredient: ingredient.clone(), at, text })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::stock::Standing;
    use jiff::civil::date;
    use rust_decimal::Decimal;

    fn named(name: &str) -> Handle<Ingredient> {
        Catalogue::built_in().ingredients.find(name).unwrap()
    }

    fn litres(litres: f64) -> Quantity {
        Quantity::Volume(in_litres(litres))
    }

    fn block() -> Package {
        Package {
            label: "5 kg block".to_owned(),
            gives: litres(65.0),
            price: Some(Decimal::ONE),
            standing: Standing::Own,
        }
    }

    fn shed() -> Shed {
        let written = |written: &str, term: Term| Term { written: written.to_owned(), ..term };
        let loose = Term { written: "40 L".to_owned(), left: litres(40.0), package: None };
        let terms = vec![written("2 x 5 kg block", Term::of_package(&block(), 2.0)), loose];
        Shed { entries: vec![(named("coir"), vec![Line { at: Some(Span::new(0, 1)), terms, ..Line::default() }])] }
    }

    fn used(amount: f64) -> Use {
        Use::new(UsedFor::Batch("b".to_owned()), &named("coir"), litres(amount))
    }

    #[test]
    fn loose_material_goes_first_and_whole_packages_stay_whole() {
        let mut shed = shed();
        let taken = shed.take(&[used(30.0), used(25.0)]).unwrap();
        assert_eq!(taken[0].left, "2 x 5 kg block + 10 L");
        assert!(taken[0].packages.is_empty());
        assert_eq!(taken[1].left, "1 x 5 kg block + 50 L");
        assert_eq!(taken[1].packages, ["5 kg block"]);
        assert_eq!(shed.rewritten()[0].text, "1 x 5 kg block + 50 L");
    }

    #[test]
    fn of_several_lots_those_that_are_left_are_told_by_their_days() {
        let id = named("coir");
        let lot = |amount: f64, made: Date| {
            let term = Term { written: String::new(), left: litres(amount), package: None };
            Line { terms: vec![term], made: Some(made), ..Line::default() }
        };
        let (first, second) = (date(2027, 3, 5), date(2027, 3, 12));
        let mut shed = Shed { entries: vec![(id.clone(), vec![lot(3.0, second), lot(2.0, first)])] };
        let mut left = |amount: f64| shed.take(&[used(amount)]).unwrap()[0].left.clone();
        assert_eq!(left(0.5), "1.5 L of 2027-03-05; 3 L of 2027-03-12");
        assert_eq!(left(2.0), "2.5 L");
        assert_eq!(left(2.5), "0 L");
    }

    #[test]
    fn nothing_is_taken_where_something_is_short() {
        let mut shed = shed();
        let before = shed.clone();
        let short = shed.take(&[used(100.0), used(70.5)]).unwrap_err();
        assert_eq!(short.len(), 1);
        assert!((short[0].lacking.size() - 0.5).abs() < 1e-9);
        assert_eq!(shed, before);
        assert!(shed.take(&[used(170.0)]).is_ok());
        assert_eq!(shed.rewritten()[0].text, "0 L");
    }

    #[test]
    fn a_balance_counts_alike_and_forgives_a_part_in_a_billion() {
        let mut shed = shed();
        let balance = |shed: &Shed, need: f64| shed.balance(&named("coir"), litres(need));
        assert_eq!(balance(&shed, 171.5).lacking, litres(1.5));
        let nearly = balance(&shed, 170.0 * (1.0 + 0.9e-9));
        assert!(!nearly.is_short() && nearly.lacking == litres(0.0) && nearly.on_hand == litres(170.0));
        assert!(balance(&shed, 170.0 * (1.0 + 1.1e-9)).is_short());
        assert!(!nearly.is_unlike);
        shed.add_loose(&named("coir"), Quantity::Mass(crate::units::Mass::new::<crate::units::mass::gram>(5.0)));
        assert!(balance(&shed, 1.0).is_unlike);
        assert_eq!(balance(&shed, 1.0).on_hand, litres(170.0));
    }

    #[test]
    fn what_is_bought_joins_what_is_there() {
        let mut shed = shed();
        shed.add(&named("coir"), &block(), 1);
        shed.take(&[used(180.0)]).unwrap();
        assert_eq!(shed.rewritten()[0].text, "55 L");
        shed.add(&named("peat"), &block(), 2);
        assert_eq!(
            shed.rewritten()[1],
            Rewritten { ingredient: named("peat"), at: None, text: "2 x 5 kg block".to_owned() }
        );
    }
}
