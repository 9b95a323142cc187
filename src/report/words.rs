//! The words for notes, warnings, reasons and counts. One place words them.

use crate::catalogue::{Crop, Handle, Ingredient, Status, Tray, cautions};
use crate::coir::Action;
use crate::plan::{DoseLimit, Note, Plan, Task, Warning};
use crate::recipe::Why;
use crate::units::{Assumption, Litres, UnitSystem, amount, plain, to_litres};
use crate::week::ReadingNote;
use jiff::ZonedDateTime;

/// `1 tray`, `6 trays`.
#[must_use]
pub fn count(number: u64, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn and<S: AsRef<str>>(items: &[S]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

fn crops(ids: &[Handle<Crop>]) -> String {
    and(&ids.iter().map(|id| id.name.as_str()).collect::<Vec<_>>())
}

fn ingredients(ids: &[Handle<Ingredient>]) -> String {
    and(&ids.iter().map(|id| id.name.as_str()).collect::<Vec<_>>())
}

fn trays(ids: &[Handle<Tray>]) -> String {
    and(&ids.iter().map(|id| id.name.as_str()).collect::<Vec<_>>())
}

/// Why something is left out.
#[must_use]
pub fn why(why: &Why) -> String {
    match why {
        Why::NotServed(Status::NonHost) => "no mycorrhiza there, so no benefit is expected".to_owned(),
        Why::NotServed(Status::Variable) => "records of mycorrhiza disagree, so no benefit is expected".to_owned(),
        Why::NotServed(Status::Ericoid) => "other fungi live there, so no benefit is expected".to_owned(),
        Why::NotServed(Status::Orchid) => "orchid fungi live there, so no benefit is expected".to_owned(),
        Why::NotServed(Status::Host) => "not among those it serves".to_owned(),
        Why::NotAmong => "not among those it serves".to_owned(),
        Why::NotFor(Status::Ericoid) => "an acid, poor mix is wanted".to_owned(),
        Why::NotFor(status) => format!("{status} plants do not bear it"),
        Why::Asked => "as the sowing says".to_owned(),
        Why::Change => "as the recipe's change says".to_owned(),
        Why::NoneOf(base) => format!("it is dosed on {}, and this mix has none", base.name),
    }
}

/// What a bare unit was taken for.
#[must_use]
pub fn assumption(assumption: Assumption) -> &'static str {
    match assumption {
        Assumption::LiquidQuart => {
            "A bare `qt` was taken as the US liquid quart (0.946 L). A dry quart is 16.4 % larger: write `dry qt` for it."
        }
        Assumption::LiquidGallon => {
            "A bare `gal` was taken as the US liquid gallon (3.785 L). A dry gallon is 16.4 % larger: write `dry gal` for it."
        }
        Assumption::UsBushel => "A bare `bu` was taken as the US bushel (35.24 L); an imperial one is `imp bu`.",
    }
}

fn remark(remark: &ReadingNote) -> String {
    match remark {
        ReadingNote::Assumed(unit) => assumption(*unit).to_owned(),
        ReadingNote::RecipeBeside(name) => {
            format!("The recipe `{name}` is the file beside the week, not the built-in one.")
        }
        ReadingNote::NotOffered { wanted, recipe } => {
            format!("The recipe `{recipe}` offers no choice of {wanted}; `use:` does nothing there.")
        }
        ReadingNote::Name { written, crop, remark } if written == crop => format!("{crop}: {remark}."),
        ReadingNote::Name { written, crop, remark } => format!("`{written}` is taken as {crop}: {remark}."),
        ReadingNote::OneRow(tray) => {
            format!("The tray `{tray}` states no rows and counts as one row: it is never shared.")
        }
        ReadingNote::SharesOff(words) => format!("{}.", capital(words)),
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// A note in words.
#[must_use]
pub fn note(note: &Note, units: UnitSystem) -> String {
    match note {
        Note::Remark(found) => remark(found),
        Note::LegalMinimum(ids) => format!(
            "Cells for {} are worked out from the least germination that US law lets seed be sold with (7 CFR 201.31, \
             1994 text). A good packet is often 10 to 25 points better: write its figure (`germination: 90 %`) and you \
             will sow fewer.",
            crops(ids)
        ),
        Note::AssumedGermination(ids) => {
            format!("No germination is known for {}: 70 % is assumed. Write the packet's figure.", crops(ids))
        }
        Note::ThinOut(ids) => format!(
            "Thin {} to the strongest seedling of each cell. What is to stand in clumps is sown with `clump: yes`.",
            crops(ids)
        ),
        Note::InoculantForNonHost(ids) => format!(
            "`inoculant: yes` puts inoculant in the mix for {}, though no benefit is expected there: arbuscular \
             mycorrhiza is not known to serve it.",
            crops(ids)
        ),
        Note::WholeTrays(beyond) => format!(
            "Trays are filled whole: the unsown cells take {}. With `fill: sown cells` they stay empty.",
            amount(*beyond, Litres::Needed, units)
        ),
        Note::WeighCells(ids) => format!(
            "Cell volumes of {} are the table's; makers differ by 20 to 45 %. Fill ten cells with water, weigh it, and \
             write `cell: {{ten_weigh: ... g}}` under `trays:`.",
            trays(ids)
        ),
        Note::LowConfidence(ids) => {
            format!("The figures for {} are from memory and may be far off: weigh these first.", trays(ids))
        }
        Note::OddTray(id) => {
            let tray = id;
            format!(
                "One tray of `{}` works out at {} L, outside the usual 0.7 to 8 L: check its cell volume.",
                tray.name,
                plain(to_litres(tray.volume()), 2)
            )
        }
        Note::TopUnknown(id) => {
            format!("The sieved top layer cannot be told in litres: the depth of `{}` is not known.", id.name)
        }
        Note::NoCrop => {
            "No crop is named: the mix is that of a host of mycorrhiza, without the recipe's changes for crops."
                .to_owned()
        }
        Note::SoakCoir(loose) => format!(
            "Coir that is not sold as buffered wants its calcium baths two days ahead: `trayful soak --loose \"{} L\"` \
             prints the worksheet.",
            plain(to_litres(*loose), 1)
        ),
        Note::SoakUnused => {
            "The week says how to soak coir, but its mix holds none: `soak:` does nothing here (`use: coir` takes coir \
             where a recipe offers it)."
                .to_owned()
        }
        Note::EmergenceUnknown(ids) => format!(
            "No days to emergence are known for {}: the calendar leaves out when to look for its seedlings and feed them.",
            crops(ids)
        ),
        Note::PotsUncounted(id) => format!(
            "`{}` does not say how many stand in a carrying tray (`per_tray:`), so its pots are not counted on the rack.",
            id.name
        ),
        Note::ManySowings(number) => {
            format!("The {number} sowings are listed together by crop and tray; `--format csv` and `json` list each.")
        }
        Note::NoTub => super::mixing::NO_TUB.to_owned(),
        Note::StarterCharge(id) => super::mixing::starter_charge(&id.name),
    }
}

/// A warning in words.
#[must_use]
pub fn warning(warning: &Warning, plan: &Plan, units: UnitSystem) -> String {
    match warning {
        Warning::RackOutgrown { trays, free } => format!(
            "The rack has {} free and these sowings need {trays}: {} too few.",
            count(*free, "place", "places"),
            trays - free
        ),
        Warning::Rich { batch, share, strongly } => format!(
            "Castings and compost make {} % of the batch `{}`. Above 20 % emergence suffered in trials{}; it is the salts \
             and the ripeness that count: keep the conductivity of an extract low, or use less.",
            plain(share * 100.0, 0),
            plan.mixes.batches[*batch].name,
            if *strongly { ", and this is more than a third: do not sow into it untested" } else { "" }
        ),
        Warning::Late(at) => format!(
            "The first thing to do was due {}: see the calendar, or mix later.",
            at.strftime("%a %-d %b %Y, %H:%M")
        ),
        Warning::SoakOutOfReach => {
            "The coir's course does not reach its target: the worksheet says what would.".to_owned()
        }
        Warning::SoakFails(error) => format!("The soak of the coir cannot be worked out: {error}."),
        Warning::SoakAfterMix(ready) => after_mix(ready),
        Warning::SoakWaits(hours) => format!(
            "Soaked coir would wait {} days for the mix, and wet coir keeps about three (common practice): soak it later \
             (`ready:` under `soak:`), or spread it to dry.",
            plain(hours / 24.0, 1)
        ),
        Warning::SoakGrowsStale { runs, hours } => grows_stale(*runs, *hours),
        Warning::WantsAcid { crops: ids, left_out } => {
            let left_out = match &left_out[..] {
                [] => "nothing of the recipe was left out for that".to_owned(),
                ids => format!("left out for that: {}", ingredients(ids)),
            };
            format!(
                "An acid mix is wanted for {}; {left_out}. Check the rest, above all ready-made mix and fertilisers, and \
                 the pH (about 4.5 to 5.5, from memory), or use a recipe of its own.",
                crops(ids)
            )
        }
        Warning::StrongDose { batch, what, grams_per_litre, limit } => format!(
            "The batch `{}` holds {} g of {} to the litre, {}",
            plan.mixes.batches[*batch].name,
            plain(*grams_per_litre, 1),
            ingredients(what),
            match limit {
                DoseLimit::Lime =>
                    "and 3 to 7 g are published for peat (UC Davis 2007; Maher et al. 2008): check the rate and its unit.",
                DoseLimit::Fertiliser =>
                    "and above about 10 g salts can harm seedlings (from memory): check the rate and its unit.",
            }
        ),
        Warning::DoseAsPart { batch, ingredient, share } => format!(
            "The batch `{}` is {} % {}, which is dosed by the gram as a rule: is a dose under `doses:` meant?",
            plan.mixes.batches[*batch].name,
            plain(share * 100.0, 0),
            ingredient.name
        ),
        Warning::TakenAsCovered(ids) => format!(
            "Nothing is known of the light that {} wants: the seed is taken to be covered, and seed that needs light \
             would not come up. See the packet, and write `light: light`, `thin`, `cover` or `dark` under `crops:`.",
            crops(ids)
        ),
        Warning::PhosphorusWithInoculant { batch, with } => format!(
            "The batch `{}` holds an inoculant and {}: soluble phosphorus keeps mycorrhiza from forming (Douds 2009: \
             next to none at 31 ppm in the feed).",
            plan.mixes.batches[*batch].name, with.name
        ),
        Warning::ScoopTooCoarse(mixes) => super::mixing::too_coarse(mixes, plan, units),
        Warning::HeavyTub { mixes, wet } => super::mixing::heavy_tub(mixes, *wet, plan),
    }
}

/// Coir that is ready too late.
pub(super) fn after_mix(ready: &ZonedDateTime) -> String {
    format!(
        "The coir is ready only {}, after the time to mix: start its soak earlier, or mix later.",
        ready.strftime("%a %-d %b %Y, %H:%M")
    )
}

/// Coir that waits too long in a tub that is too small.
pub(super) fn grows_stale(runs: u32, hours: f64) -> String {
    format!(
        "{runs} runs of one tub: the coir of the first waits {} days for that of the last, and wet coir keeps about three \
         (common practice). Use a larger tub or several tubs, or spread the first lots to dry.",
        plain(hours / 24.0, 1)
    )
}

/// A thing to do and why, in words.
#[must_use]
pub fn task(task: &Task) -> (String, String) {
    match task {
        Task::Soak { action, number, run, runs } => {
            let what = match action {
                Action::Hydrate => "wet the coir",
                Action::Wash => "wash the coir",
                Action::Soak => "calcium bath for the coir",
                Action::Rinse => "rinse the coir",
            };
            let of_run = if *runs > 1 { format!("run {run} of {runs}: ") } else { String::new() };
            let why = match (number, runs) {
                (1, 3..) => "the other steps follow by the worksheet".to_owned(),
                (1, _) => "step 1 of its course".to_owned(),
                _ => format!("step {number}; drain first"),
            };
            (format!("{of_run}{what}"), why)
        }
        Task::Lime => (
            "better: mix and moisten limed batches now".to_owned(),
            "lime takes about a week to act (common practice)".to_owned(),
        ),
        Task::WetPeat { for_lime } => (
            format!("{}wet the peat, with warm water", if *for_lime { "better: " } else { "" }),
            "dry peat sheds water (common practice)".to_owned(),
        ),
        Task::Mix => ("mix, fill and sow".to_owned(), String::new()),
        Task::Emerge { crops: ids, days: (first, last) } => {
            (format!("first {} up", crops(ids)), format!("{first}-{last} days (from memory)"))
        }
        Task::Feed { crops: ids, fed_mix: true, potted_on: true } => {
            (format!("feed the potted-on {}", crops(ids)), "the new mix feeds till then (common practice)".to_owned())
        }
        Task::Feed { crops: ids, fed_mix: false, potted_on: true } => (
            format!("feed the potted-on {}, 25-50 ppm N", crops(ids)),
            "the new mix holds no food (common practice)".to_owned(),
        ),
        Task::Feed { crops: ids, fed_mix: true, potted_on: false } => (
            format!("at true leaves, first feed: {}", crops(ids)),
            "the mix feeds till then (common practice)".to_owned(),
        ),
        Task::Feed { crops: ids, fed_mix: false, potted_on: false } => (
            format!("first feed, 25-50 ppm N, cotyledons open: {}", crops(ids)),
            "the mix holds no food (common practice)".to_owned(),
        ),
    }
}

/// The cautions of a plan in words, each after the ingredients that call for it.
#[must_use]
pub fn caution_words(called: &[(String, Vec<Handle<Ingredient>>)]) -> Vec<String> {
    called
        .iter()
        .filter_map(|(key, ids)| cautions().get(key).map(|caution| (caution, ids)))
        .map(|(caution, ids)| {
            let names: Vec<&str> = ids.iter().map(|id| id.name.as_str()).collect();
            if names.is_empty() {
                caution.text.clone()
            } else {
                format!("{}: {}", capital(&and(&names)), uncapital(&caution.text))
            }
        })
        .collect()
}

fn uncapital(text: &str) -> String {
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        // A name in capitals stays as it is.
        (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
            first.to_lowercase().chain(std::iter::once(second)).chain(chars).collect()
        }
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_lists_read_like_speech() {
        assert_eq!(count(1, "tray", "trays"), "1 tray");
        assert_eq!(count(0, "tray", "trays"), "0 trays");
        assert_eq!(and::<&str>(&[]), "");
        assert_eq!(and(&["a"]), "a");
        assert_eq!(and(&["a", "b", "c"]), "a, b and c");
    }
}
