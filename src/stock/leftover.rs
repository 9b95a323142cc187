//! Finished mix that was left over: `mixes:` of a stock file.

use crate::catalogue::{Catalogue, Feeds, Handle, Ingredient};
use crate::diagnostic::{Problems, Span};
use crate::exact::Fraction;
use crate::moment::Day;
use crate::recipe::{Basis, Composition, as_parts};
use crate::source::{Fields, Node, figures};
use crate::units::length::millimetre;
use crate::units::{Bounds, Fault, Parsed, Quantity, Volume, in_litres, plain, to_litres, volume, within};
use jiff::civil::Date;
use serde_json::json;

/// Days that a mix with food or an inoculant in it keeps (common practice, no source).
pub const KEEPS_DAYS: i32 = 14;

figures! {
    /// Finished mix; nothing once it is used.
    Amount(Volume): "a volume such as `6 L`",
        text => mix_at_hand(text);
}

fn mix_at_hand(text: &str) -> Result<Parsed<Volume>, Fault> {
    match volume(text) {
        Err(Fault::Zero(_)) => Ok(Parsed::from(in_litres(0.0))),
        mix => mix.and_then(|mix| within(mix, to_litres(mix.value), MOST_L, text)),
    }
}

const MOST_L: Bounds = (0.0..=1e6, "at hand are at most 1,000 m3 of a mix");

/// Some finished mix at hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// Its name: that of the batch it was left over from.
    pub name: String,
    /// What it holds.
    pub composition: Composition,
    /// How much of it is left.
    pub amount: Volume,
    /// When it was made, where that is known.
    pub made: Option<Date>,
    /// What of it is not to be used.
    pub aside: Volume,
    /// Where its amount stands in the file; `None` for one that is not there yet.
    pub(super) at: Option<Span>,
}

impl Leftover {
    /// So much of a mix, not written yet.
    pub fn new(name: &str, composition: &Composition, amount: Volume, made: Option<Date>) -> Self {
        let parts = readable(&composition.parts);
        let composition = Composition { parts, yield_: Fraction::ONE, ..composition.clone() };
        Self { name: name.to_owned(), composition, amount, made, aside: Volume::default(), at: None }
    }

    pub(super) fn read(node: &Node<'_>, catalogue: &Catalogue, problems: &Problems) -> Option<Self> {
        let mut fields = Fields::new(node, "a mix at hand", problems)?;
        let name = fields.required("name");
        let composition = Composition::read(&mut fields, catalogue, problems);
        let amount = fields.required("amount").map(|Amount(amount)| amount);
        let at = Some(fields.place("amount"));
        let made = fields.optional("made").map(|Day(day)| day);
        fields.finish()?;
        Some(Self { name: name?, composition: composition?, amount: amount?, made, aside: Volume::default(), at })
    }

    /// Its age in days on a day, less than nothing before it was made; `None` where that is not known.
    pub fn age_on(&self, day: Date) -> Option<i32> {
        Some((day - self.made?).get_days())
    }

    /// Whether it holds food or an inoculant, which do not keep in a moist mix.
    pub fn perishes(&self) -> bool {
        self.composition.ingredients().any(|id| id.feeds == Feeds::Yes || id.serves.is_some())
    }

    /// Whether nothing is left of it, as its amount is written.
    pub fn is_used_up(&self) -> bool {
        self.amount_text() == "0 L"
    }

    /// As an entry of `mixes:`.
    pub(super) fn text(&self) -> String {
        let Composition { parts, doses, sieve, .. } = &self.composition;
        let parts: Vec<String> = parts.iter().map(|(id, parts)| format!("{}: {parts}", quoted(&id.name))).collect();
        let doses: Vec<String> = doses
            .iter()
            .map(|dose| {
                let (name, rate) = (quoted(&dose.ingredient.name), dose.rate.written());
                match &dose.basis {
                    Basis::Finished => format!("{name}: {rate}"),
                    Basis::Loose => format!("{name}: {{rate: {rate}, per: loose}}"),
                    Basis::Of(id) => format!("{name}: {{rate: {rate}, of: {}}}", quoted(&id.name)),
                }
            })
            .collect();
        let doses = if doses.is_empty() { String::new() } else { format!(", doses: {{{}}}", doses.join(", ")) };
        let sieve = sieve.map(|mesh| format!(", sieve: {} mm", plain(mesh.get::<millimetre>(), 6))).unwrap_or_default();
        let made = self.made.map(|made| format!(", made: {made}")).unwrap_or_default();
        let (name, parts, amount) = (quoted(&self.name), parts.join(", "), self.amount_text());
        format!("{{name: {name}, parts: {{{parts}}}{doses}{sieve}, amount: {amount}{made}}}")
    }

    /// Its amount as it is written into the file.
    pub fn amount_text(&self) -> String {
        Quantity::Volume(self.amount).written()
    }

    /// Whether the other entry says the same, in the digits that are written of meshes and of litres.
    pub(super) fn says(&self, other: &Self) -> bool {
        let same = |one: &Self| {
            let (none, composition) = (Volume::default(), Composition { sieve: None, ..one.composition.clone() });
            Self { at: None, amount: none, aside: none, composition, ..one.clone() }
        };
        let meshes = self.composition.mesh_nm() == other.composition.mesh_nm();
        meshes && same(self) == same(other) && (to_litres(self.amount) - to_litres(other.amount)).abs() < 0.002
    }
}

/// Parts in the same proportion whose numbers can be read: what changes of a recipe add up may be beyond that.
fn readable(parts: &[(Handle<Ingredient>, Fraction)]) -> Vec<(Handle<Ingredient>, Fraction)> {
    if parts.iter().all(|(_, number)| as_parts(&number.to_string()) == Ok((*number, false))) {
        return parts.to_vec();
    }
    let largest = parts.iter().map(|(_, parts)| *parts).max();
    let scaled = parts.iter().map(|(id, parts)| {
        let share = parts.over(largest?)?.times(Fraction::whole(1000))?;
        Some((id.clone(), share))
    });
    scaled.collect::<Option<_>>().unwrap_or_else(|| parts.to_vec())
}

/// A name, in quotes unless it is of letters and single spaces, and no word of the format.
fn quoted(name: &str) -> String {
    let is_plain = name.split(' ').all(|word| word.starts_with(|c: char| c.is_ascii_alphabetic()))
        && name.chars().all(|c| c.is_ascii_alphabetic() || c == ' ');
    let is_word = ["yes", "no", "on", "off", "true", "false", "null", "y", "n"]
        .iter()
        .any(|word| name.eq_ignore_ascii_case(word));
    if is_plain && !is_word { name.to_owned() } else { json!(name).to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use crate::source::parse;

    fn read(text: &str) -> Result<Leftover, String> {
        let problems = Problems::new(SourceText::argument("mix", text));
        let catalogue = Catalogue::built_in();
        let mix = parse(text, &problems).and_then(|node| Leftover::read(&node, &catalogue, &problems));
        problems.settle(mix).map(|(mix, _)| mix).map_err(|rejected| rejected.to_string())
    }

    #[test]
    fn every_entry_is_written_so_that_it_reads_back() {
        for text in [
            "{name: plain, parts: {peat: 3, perlite: 1}, amount: 6 L}",
            "{name: \"no\", parts: {peat: 1/3, perlite: 1}, doses: {lime: {rate: 2 g/L, per: loose}}, amount: 0.5 L}",
            "{name: \"feed, sieved 6 mm\", parts: {peat: 1}, sieve: 1.5875 mm, amount: 0 L, made: 2027-03-06}",
            "{name: \"a \\\"b\\\": c\", parts: {peat: 1}, doses: {lime: {rate: 5 lb/cu yd, of: peat}}, amount: 1 L}",
        ] {
            let mix = read(text).unwrap();
            assert_eq!(mix.text(), text);
            assert_eq!(mix.is_used_up(), text.contains("amount: 0 L"));
            let other = |from: &str, to: &str| read(&text.replace(from, to)).unwrap();
            assert!(mix.says(&other("sieve: 1.5875", "sieve: 1.58750001")));
            assert!(!mix.says(&other("peat: 1", "peat: 2")) || !text.contains("peat: 1"));
            assert!(!mix.says(&other("L}", "L, made: 2020-01-01}")) || text.contains("made"));
        }
    }

    #[test]
    fn no_more_is_at_hand_than_can_be() {
        let mix = |amount: &str| read(&format!("{{name: m, parts: {{peat: 1}}, amount: {amount}}}"));
        assert!(mix("1000 m3").is_ok());
        assert!(mix("1001 m3").unwrap_err().contains("at hand are at most 1,000 m3 of a mix"));
        assert!(mix("-1 L").is_err() && mix("5 kg").is_err());
    }

    #[test]
    fn parts_beyond_what_is_read_are_scaled() {
        let mix = read("{name: m, parts: {peat: 1, perlite: 3}, amount: 1 L}").unwrap();
        let million = Fraction::whole(1_000_000);
        let times = |(id, parts): &(Handle<Ingredient>, Fraction)| (id.clone(), parts.times(million).unwrap());
        let parts = mix.composition.parts.iter().map(times).collect();
        let large = Composition { parts, ..mix.composition.clone() };
        let written = Leftover::new("m", &large, mix.amount, None);
        let again = read(&written.text()).unwrap();
        assert!(again.says(&written));
        assert_eq!(again.composition.shares(), mix.composition.shares());
    }
}
