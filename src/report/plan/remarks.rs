//! Remarks of a plan, and its notes in words.

use super::PlanReport;
use crate::catalogue::{Crop, Handle, Named, Tray, caution};
use crate::plan::{CropNote, Note, Omission, StandsLong, TrayNote, Unstated};
use crate::recipe::Why;
use crate::report::behaviour::heavy_shelf;
use crate::report::buying;
use crate::report::remark::{Remark, on};
use crate::report::soak::SoakReport;
use crate::report::words::{
    NO_CROP, and, assumption, batch_name, batches_of, capital, count, needed, span, tray_name, uncapital, why,
};
use crate::stock::{KEEPS_DAYS, SOAKED_KEEPS_DAYS};
use crate::units::customary::LITRE;
use crate::units::volume::{millilitre, us_liquid_gallon};
use crate::units::{Measure, Quantity, Rounding, UnitSystem, Volume, percent, plain, rounded, to_litres};
use crate::week;

impl PlanReport<'_> {
    /// What to watch out for.
    pub(in crate::report) fn warnings(&self, units: UnitSystem) -> Vec<Remark> {
        let warnings = self.plan.warnings.iter();
        let warnings = warnings.map(|warning| Remark::new(warning.code(), self.warning(warning, units)));
        let shelf = self.plan.shelf(self.week).and_then(|shelf| heavy_shelf(&shelf, None, units));
        let warnings = warnings.chain(self.warned_findings(units)).chain(shelf);
        warnings.chain(buying::cautions(&self.plan.purchases)).collect()
    }

    /// What to know, without the notes on purchases, which stand with these.
    pub(super) fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let notes = self.plan.notes.iter().map(|found| Remark::new(found.code(), note(found, units)));
        let in_season = self.plan.soak.iter().flat_map(|soaking| SoakReport::of(soaking).in_season(units));
        notes.chain(in_season).chain(self.noted_findings(units)).collect()
    }

    /// The cautions, each after the ingredients that call for it.
    pub(super) fn cautions(&self, units: UnitSystem) -> Vec<Remark> {
        let called = self.plan.cautions.iter();
        let remark = called.filter_map(|(key, ids)| {
            let caution = caution(key)?;
            let text = units.prose(&caution.text);
            let of_some = on(&caution.key, ids, |names| format!("{}: {}", capital(names), uncapital(&text)));
            Some(of_some.unwrap_or_else(|| Remark::new(&caution.key, &text)))
        });
        remark.collect()
    }
}

fn stands_long(all: &[StandsLong]) -> String {
    let of = all.iter().map(|StandsLong { crop, stands, weeks, sow }| {
        let (weeks, sow) = (span(*weeks, "", ""), sow.strftime("%-d %b"));
        format!("{} is {stands} weeks old, not {}: sow from {sow}", crop.shown(), weeks.trim_end())
    });
    format!("At the last frost {}, or pot on.", of.collect::<Vec<_>>().join("; "))
}

const SOAK_UNUSED: &str = "The mix holds no coir: `soak:`, in the week or its place, does nothing here (`use: coir` \
                           takes coir where a recipe offers it).";

fn lime_unneeded(why: &str, batches: &[usize], units: UnitSystem) -> String {
    format!(
        "{why} (common practice), and some is dosed on it in {}: dose it on the peat alone \
         (`lime: {{rate: {}, of: peat}}`), or leave it out.",
        batches_of(batches),
        units.either("3 g/L", "5 lb/cu yd")
    )
}

/// Coir that is to be soaked, and how the worksheet is had.
fn soak_coir(loose: Volume, units: UnitSystem) -> String {
    format!(
        "Coir that is not sold as buffered wants its calcium baths two days ahead: `trayful soak --loose \"{}\"` prints \
         the worksheet.",
        units.either(
            format!("{} L", plain(to_litres(loose), 1)),
            format!("{} US gal", rounded(loose.get::<us_liquid_gallon>(), 2, Rounding::Up))
        )
    )
}

fn no_tub(units: UnitSystem) -> String {
    format!(
        "No tub is named, so each mix is given as one load. A week file may say {}: then the sheet gives loads and \
         scoops.",
        units.either("`tub: 60 L` and `scoop: 2 L`", "`tub: 15 US gal` and `scoop: 2 US qt`")
    )
}

/// Soaked coir that is older than it keeps by so many days, or of unknown age.
fn soaked_coir_keeps() -> String {
    format!(
        "Soaked coir at hand keeps about {SOAKED_KEEPS_DAYS} days, drained, hand-moist, loosely covered and cool (common \
         practice): take no older."
    )
}

fn not_used(names: &[String], why: &str, units: UnitSystem) -> String {
    format!("Not used, though at hand: {}. {why}", and(names.iter().map(|name| batch_name(name, units))))
}

/// Whether it stands below the days of the crops: of some, none are known.
pub(super) const fn is_for_afterwards(note: &Note) -> bool {
    matches!(note, Note::Crops(CropNote::EmergenceUnknown, _))
}

/// A note in words.
pub(in crate::report) fn note(note: &Note, units: UnitSystem) -> String {
    match note {
        Note::Remark(found) => remark(found, units),
        Note::Crops(note, crops) => crop_note(*note, crops),
        Note::Trays(note, trays) => tray_note(*note, trays, units),
        Note::Unstated(found) => unstated(found),
        Note::WholeTrays(beyond) => {
            format!("Unsown cells take {} of mix; with `fill: sown cells` they stay empty.", needed(*beyond, units))
        }
        Note::NoCrop => NO_CROP.to_owned(),
        Note::SoakCoir(loose) => soak_coir(*loose, units),
        Note::SoakUnused => SOAK_UNUSED.to_owned(),
        Note::CoirSoldIn { said, sold } => format!(
            "Coir is counted by the {sold} of the stock file, not the {said} of `soak:`: list there what you have."
        ),
        Note::LastPiece(need) => format!(
            "Of the last brick or block of coir only {} is needed: a little less for spill or a few plants fewer save it, \
             and the work with it.",
            needed(*need, units)
        ),
        Note::ManyBricks { bricks, label, blocks } => format!(
            "{} would do for the {bricks} x {label} and usually cost less (common practice): `coir: {{product: 5 kg block}}` \
             under `soak:`.",
            units.prose(&count(*blocks, "block of 5 kg", "blocks of 5 kg"))
        ),
        Note::ManySowings(number) => {
            format!("The {number} sowings are listed together by crop and tray; `--format csv` and `json` list each.")
        }
        Note::SaltNotPriced(salts) => {
            format!("To pay leaves out the baths' {}: no price is known.", and(salts.iter().map(|salt| &salt.name)))
        }
        Note::StaleMix(names) => {
            let why = format!("A mix with food or an inoculant in it keeps {KEEPS_DAYS} days (common practice).");
            not_used(names, &why, units)
        }
        Note::NotCompared(crops) => {
            format!(
                "Not compared by the trial, since no mix has it in both halves: {}.",
                and(crops.iter().map(|crop| crop.in_full()))
            )
        }
        Note::MixBesideTrial(names) => not_used(names, "Both halves of a trial are made alike, on the day.", units),
        Note::NoTub => no_tub(units),
        Note::LimeOnCoir(batches) => lime_unneeded("Coir needs no lime", batches, units),
        Note::LimeOnLimedPeat(batches) => lime_unneeded("Limed peat has its lime already", batches, units),
        Note::StarterCharge(ingredient) => format!(
            "{} usually carries a starter charge and lime: add no castings, fertiliser or lime to it unless its bag says \
             so, and begin to feed later. Its phosphorus may work against an inoculant, and its lime against plants of \
             acid soil.",
            capital(&ingredient.name)
        ),
        Note::SoakedCoirKeeps => soaked_coir_keeps(),
        Note::OffMixDay(day) => format!("{} is none of the place's `mix_days`.", day.strftime("%A")),
        Note::ManyTrays { trays, a_day } => {
            format!("{trays} trays are more than the {a_day} a day of the place (`trays_a_day`).")
        }
        Note::StandsLong(all) => stands_long(all),
    }
}

fn remark(remark: &week::ReadingNote, units: UnitSystem) -> String {
    use week::ReadingNote;
    match remark {
        ReadingNote::Assumed(unit) => assumption(*unit, units),
        ReadingNote::RecipeBeside(name) => {
            format!("The recipe `{name}` is the file beside the week, not the built-in one.")
        }
        ReadingNote::NotOffered { wanted, recipe } => {
            format!("The recipe `{recipe}` offers no choice of {wanted}; `use:` does nothing there.")
        }
        ReadingNote::Name { written, crop, remark } if written == crop => format!("{crop}: {remark}."),
        ReadingNote::Name { written, crop, remark } => format!("`{written}` is taken as {crop}: {remark}."),
        ReadingNote::LastWords { written, crop } => {
            format!("`{written}` is taken for {crop} by its last words: if it is another plant, add it under `crops:`.")
        }
        ReadingNote::FamilyVaries { crop, family, others } => format!(
            "`{crop}` is taken to live as most {family} do; {} of that family do not. If it may be one of these, write its \
             `species:`.",
            and(others)
        ),
        ReadingNote::OneRow(tray) => {
            format!("The tray `{tray}` states no rows and counts as one row: it is never shared.")
        }
        ReadingNote::SharesOff(words) => format!("{}.", capital(words)),
        ReadingNote::FromPlace(place) => {
            format!("What is not stated here is from the place `{place}`.")
        }
    }
}

fn crop_note(note: CropNote, of: &[Handle<Crop>]) -> String {
    let crops = and(of);
    match note {
        CropNote::LegalMinimum => format!(
            "Cells for {crops} go by the least germination of US law; the packet's own (`germination: 90 %`) mostly sows \
             fewer."
        ),
        CropNote::ExpectedGermination => {
            let expected =
                |crop: &Handle<Crop>| Some(format!("{} {}", crop.shown(), percent(crop.expected_germination?)));
            format!(
                "Little may come up: assumed is {}. Write the packet's figure.",
                and(of.iter().filter_map(expected))
            )
        }
        CropNote::AssumedGermination => {
            format!("No germination is known for {crops}: 70 % is assumed. Write the packet's figure.")
        }
        CropNote::Spare => format!(
            "Of {crops} {} more are potted on than wanted, to spare: `spare:` says otherwise (`spare: 0 %`).",
            week::usual_spare().map(percent).unwrap_or_default()
        ),
        CropNote::ThinOut => format!("Thin {crops} to the strongest of each cell, or sow with `clump: yes`."),
        CropNote::InoculantForNonHost => format!(
            "`inoculant: yes` puts inoculant in the mix for {crops}, though no benefit is expected there: arbuscular \
             mycorrhiza is not known to serve it."
        ),
        CropNote::EmergenceUnknown => {
            let [its, each] = if of.len() == 1 { ["its ", ""] } else { ["", " of each"] };
            format!("No days to emergence are known of {crops}: write {its}`emerges: 7-14`{each} under `crops:`.")
        }
        CropNote::SmallCells => {
            let usual =
                |crop: &Handle<Crop>| Some(format!("{} ({})", crop.shown(), span(crop.cells?, "cell", "cells")));
            format!(
                "Smaller cells than the crop table has in a 10 x 20 in tray for {}: use larger ones, or pot on early.",
                and(of.iter().filter_map(usual))
            )
        }
    }
}

fn unstated(Unstated { crops, facts, trays }: &Unstated) -> String {
    let facts = and(facts.iter().map(|fact| format!("`{fact}:`")));
    format!(
        "With {facts} stated under `crops:` as others have them, {} would share trays with these: {} fewer.",
        and(crops),
        count(*trays, "tray", "trays")
    )
}

fn tray_note(note: TrayNote, trays: &[Handle<Tray>], units: UnitSystem) -> String {
    let names = and(trays.iter().map(|tray| tray_name(tray, units)));
    match note {
        TrayNote::WeighCells => format!(
            "Makers differ by 20 to 45 %: weigh the water of ten cells of {names}; write it under `trays:`, \
             `cell: {{ten_weigh: ... {}}}`.",
            units.either("g", "oz")
        ),
        TrayNote::PotRim => format!(
            "Each {} is filled to {} below its edge unless `rim:` says otherwise, in the tray or under `allowances:`.",
            names,
            units.prose("1 cm")
        ),
        TrayNote::Plugs => format!("What the plugs of {names} bring is not filled into the pots that they go into."),
        TrayNote::PressTen => format!(
            "How much loose mix each {names} takes varies from 2 to 3 times its size: press ten, note the loose mix they took, \
             and write it over the size of ten as `compression:` under `trays:`."
        ),
        TrayNote::LowConfidence => {
            format!("Volumes from memory, to weigh first: {names}.")
        }
        TrayNote::OddVolume => {
            let volumes = and(trays.iter().map(|tray| LITRE.figure(to_litres(tray.volume()), 2, units)));
            format!(
                "One tray of `{names}` works out at {volumes} {}, outside the usual {}: check its cell volume.",
                LITRE.name_in(units),
                units.prose("0.7 to 8 L")
            )
        }
        TrayNote::TopUnknown => {
            let measure = units.either("in litres", "by volume");
            format!("The sieved top layer cannot be told {measure}: the depth of `{names}` is not known.")
        }
        TrayNote::PotsUncounted => format!(
            "`{names}` does not say how many stand in a carrying tray, so its pots are not counted on the rack: count \
             them, and write `trays: {{{}: {{per_tray: ...}}}}`.",
            and(trays.iter().map(|tray| &tray.name))
        ),
    }
}

/// What a batch goes without, as a sentence.
pub(super) fn omission(omission: &Omission, units: UnitSystem) -> String {
    let reasons = omission.why.iter().map(|(reason, crops)| match reason {
        // A dose without its base is missing for every crop alike.
        Why::NoneOf(_) | Why::Limed(_) => why(reason),
        _ if crops.is_empty() => why(reason),
        _ => format!("{} ({})", and(crops), why(reason)),
    });
    let reasons = reasons.collect::<Vec<_>>().join("; ");
    // Of what is wholly left over from earlier nothing is saved.
    let saved = omission.saved.filter(|saved| saved.size() > 0.0).map(|saved| match saved {
        Quantity::Volume(volume) if !omission.as_part && units == UnitSystem::Metric => {
            format!("; saves {:.0} mL", volume.get::<millilitre>())
        }
        saved => format!("; saves {}", saved.shown(Rounding::Down, units)),
    });
    let saved = saved.unwrap_or_default();
    let instead = omission.instead.as_ref().map(|id| format!("; {} instead", id.name)).unwrap_or_default();
    let no = if omission.only_less { "Less" } else { "No" };
    format!("{no} {}: {reasons}{instead}{saved}.", omission.ingredient.name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::units::Mass;
    use crate::units::in_litres;
    use crate::units::mass::gram;

    #[test]
    fn names_in_capitals_stay_capitals() {
        assert_eq!(uncapital("Dust when dry"), "dust when dry");
        assert_eq!(uncapital("A nuisance dust"), "a nuisance dust");
        assert_eq!(uncapital("NIOSH sets 23 kg"), "NIOSH sets 23 kg");
        assert_eq!(["pH", ""].map(uncapital), ["pH", ""]);
    }

    #[test]
    fn what_a_batch_goes_without_is_told_with_its_reasons() {
        let catalogue = Catalogue::built_in();
        let lime = catalogue.ingredients.find("lime").unwrap();
        let kale = catalogue.crops.find("kale").unwrap();
        let without = |why, crops: &[&Handle<Crop>], saved| Omission {
            ingredient: lime.clone(),
            why: [(why, crops.iter().map(|crop| (*crop).clone()).collect())].into(),
            instead: None,
            only_less: false,
            saved,
            as_part: false,
        };
        let words = |found: Omission| omission(&found, UnitSystem::Metric);
        let grams = Quantity::Mass(Mass::new::<gram>(5.0));
        let saved = without(Why::Change, &[&kale], Some(grams));
        assert_eq!(words(saved.clone()), "No lime: kale (as the recipe's change says); saves 5 g.");
        let other = Omission { only_less: true, instead: Some(lime.clone()), ..saved };
        assert_eq!(words(other), "Less lime: kale (as the recipe's change says); lime instead; saves 5 g.");
        let spoons = Quantity::Volume(in_litres(0.02));
        assert_eq!(words(without(Why::Asked, &[], Some(spoons))), "No lime: as the sowing says; saves 20 mL.");
        let part = Omission { as_part: true, ..without(Why::NoneOf(lime.clone()), &[&kale], Some(spoons)) };
        assert_eq!(words(part), "No lime: it is dosed on lime, and this mix has none; saves 0.02 L.");
    }
}
