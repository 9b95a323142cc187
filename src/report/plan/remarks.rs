//! Notes, warnings and cautions of a plan in words.

use super::PlanReport;
use super::mixing::mix_name;
use super::sowing::carried;
use crate::catalogue::{Crop, Handle, Named, Poison, Tray, caution};
use crate::plan::{
    BatchWarning, CropNote, DoseLimit, LIFT_KG, MixRef, Note, Omission, OnRack, SoakWarning, StandsLong, TrayNote,
    Unstated, Warning,
};
use crate::recipe::Why;
use crate::report::buying;
use crate::report::remark::{Remark, on};
use crate::report::soak::SoakReport;
use crate::report::words::{
    COIR_UNSAID, NO_CROP, after_mix, and, assumption, batch_name, batches_of, capital, count, day_and_hour, day_of,
    fact, grows_stale, lifted, log_unread, needed, no_time, not_entered, outside_awake, salt_safety, span, taken_back,
    tray_name, uncapital, whole_percent, why,
};
use crate::stock::{KEEPS_DAYS, Known, SOAKED_KEEPS_DAYS};
use crate::units::customary::LITRE;
use crate::units::mass::{gram, pound};
use crate::units::volume::{cubic_yard, millilitre, us_liquid_gallon};
use crate::units::{Cell, Mass, Measure, Quantity, Rounding, UnitSystem, Volume, percent, plain, rounded, to_litres};
use crate::week;
use jiff::ZonedDateTime;
use jiff::civil::Date;

impl PlanReport<'_> {
    /// What to watch out for.
    pub(in crate::report) fn warnings(&self, units: UnitSystem) -> Vec<Remark> {
        let warnings = self.plan.warnings.iter();
        let warnings = warnings.map(|warning| Remark::new(warning.code(), self.warning(warning, units)));
        warnings.chain(buying::cautions(&self.plan.purchases)).collect()
    }

    /// What to know, without the notes on purchases, which stand with these.
    pub(super) fn notes(&self, units: UnitSystem) -> Vec<Remark> {
        let notes = self.plan.notes.iter().map(|found| Remark::new(found.code(), note(found, units)));
        notes.chain(self.plan.soak.iter().flat_map(|soaking| SoakReport::of(soaking).in_season(units))).collect()
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

    fn warning(&self, warning: &Warning, units: UnitSystem) -> String {
        match warning {
            Warning::AlreadyMixed(known) => already_mixed(known),
            Warning::NotEntered(day) => not_entered(*day),
            Warning::LogUnread(why) => log_unread(why),
            Warning::SoakedCoirUnused(amount, made) => soaked_unused(*amount, *made, self.week.day(), units),
            Warning::RackOutgrown(needs) => rack_outgrown(needs),
            Warning::OddCell(tray, usual) => format!(
                "A cell of `{}` is said to hold {}, and the usual one holds {}: check its unit.",
                tray_name(tray, units),
                fact(Cell(tray.cell), units),
                fact(Cell(*usual), units)
            ),
            Warning::TopTooDeep(trays) => format!(
                "The sieved top layer is deeper than the cells of {}: check the `depth:` of `top:` in the recipe.",
                and(trays.iter().map(|tray| format!("`{}`", tray_name(tray, units))))
            ),
            Warning::MuchMix(mix) => format!(
                "{} of mix is more than any bench makes: look for a slip of a unit or a zero in trays, cells and plants.",
                needed(*mix, units)
            ),
            Warning::ManyPackages(ingredient, packages) => format!(
                "{packages} packages of {} are more than anyone buys: look for a slip of a unit or a zero in the trays \
                 and in what a package gives.",
                ingredient.name
            ),
            Warning::Batch(index, warning) => {
                batch_warning(&batch_name(&self.plan.mixes.batches[*index].name, units), warning, units)
            }
            Warning::Late(at) => late(at),
            Warning::LimeLate { by, today } => lime_late(by, *today),
            Warning::MatsOutgrown { trays, mats } => mats_outgrown(*trays, *mats),
            Warning::MixOutsideAwake(at) => outside_awake("The mix is to be made", at),
            Warning::WhileAway(away) => while_away(away),
            Warning::SoakFails(error) => format!("The soak of the coir cannot be worked out: {error}."),
            Warning::Soak(warning) => soak_warning(warning, units),
            Warning::WantsAcid { crops, left_out } => {
                let left_out = match &left_out[..] {
                    [] => "nothing of the recipe was left out for that".to_owned(),
                    ids => format!("left out for that: {}", and(ids)),
                };
                format!(
                    "An acid mix is wanted for {}; {left_out}. Check the rest, above all ready-made mix and fertilisers, \
                     and the pH (about 4.5 to 5.5, from memory), or use a recipe of its own.",
                    and(crops)
                )
            }
            Warning::Poisonous(crops) => poisonous(crops),
            Warning::TakenAsCovered(crops) => format!(
                "Nothing is known of the light that {} want{}: the seed is taken to be covered, and seed that needs light \
                 would not come up. See the packet, and write `light: light`, `thin`, `cover` or `dark` under `crops:`.",
                and(crops),
                if crops.len() == 1 { "s" } else { "" }
            ),
            Warning::ScoopTooCoarse(mixes) => format!(
                "No scoop is fine enough for {}: measure with a jug, or by the spoon.",
                and(mixes.iter().map(|mix| mix_name(*mix, self.plan)))
            ),
            Warning::HeavyTub { mixes, wet } => self.heavy_tub(mixes, *wet, units),
        }
    }

    fn heavy_tub(&self, mixes: &[MixRef], wet: Mass, units: UnitSystem) -> String {
        format!(
            "A moist load of {} weighs up to {}, past the {} that NIOSH sets for lifting: empty it by the scoop, or make \
             smaller loads.",
            and(mixes.iter().map(|mix| mix_name(*mix, self.plan))),
            lifted(wet, Rounding::Up, units),
            units.prose(&format!("{LIFT_KG} kg (51 lb)"))
        )
    }
}

fn while_away(away: &[(Date, bool, Vec<Handle<Crop>>)]) -> String {
    let each = away.iter().map(|(day, is_out, crops)| {
        let [what, from] = if *is_out { ["plant out", "on"] } else { ["harden off", "from"] };
        format!("to {what} {} {from} {}", and(crops), day.strftime("%a %-d %b"))
    });
    format!("Nobody is there (`awake:`, `not_on:`) {}.", and(each))
}

fn late(at: &ZonedDateTime) -> String {
    format!("The first thing to do was due {}: see the calendar, or mix later.", day_and_hour(at))
}

fn already_mixed(known: &Known) -> String {
    let (entry, back) = (known.entry(), taken_back(known));
    let date = entry.date.split(' ').next().unwrap_or_default();
    let what = if known.is_same { "This week is" } else { "These sowings, or some of them, are" };
    let of = if known.is_same { String::new() } else { format!(", when they were for {}", day_of(entry)) };
    format!(
        "{what} entered as mixed in the log, on {date} (entry {}{of}): the amounts are off the stock, and what this plan \
         asks for comes on top. {back}",
        entry.number
    )
}

/// Soaked coir that is too old, or not made yet.
fn soaked_unused(amount: Volume, made: Date, mix_on: Option<Date>, units: UnitSystem) -> String {
    let why = match mix_on {
        Some(day) if day < made => "it is made only after this mix".to_owned(),
        _ => format!("it keeps {SOAKED_KEEPS_DAYS} days (common practice)"),
    };
    format!("{} of soaked coir, made {made}, is not used: {why}.", fact(amount, units))
}

fn rack_outgrown(needs: &OnRack) -> String {
    let places = count(needs.free, "place", "places");
    let carried = if needs.pots > 0 { format!(" ({})", carried(needs)) } else { String::new() };
    let (needed, lacking) = (needs.needed, needs.needed - needs.free);
    format!("The rack has {places} free and these sowings need {needed}{carried}: {lacking} too few.")
}

fn mats_outgrown(trays: u64, mats: u64) -> String {
    let (want, places) = (count(trays, "tray wants heat", "trays want heat"), count(mats, "place", "places"));
    format!(
        "{want} from below, and the rack has {places} with it: {} too few. What germinates warmest has them first.",
        trays - mats
    )
}

fn lime_late(by: &ZonedDateTime, today: bool) -> String {
    let now = if today { "lime the peat today" } else { "it goes in with the mix" };
    format!(
        "It is too late to lime the peat a week ahead (by {}), and lime takes about a week to act: {now}, and mix later, or \
         test with a pH strip before sowing.",
        day_and_hour(by)
    )
}

fn poisonous(crops: &[Handle<Crop>]) -> String {
    let of = |what: Poison| and(crops.iter().filter(|crop| crop.poisonous == Some(what)));
    let whole = Some(of(Poison::All)).filter(|names| !names.is_empty());
    let seed = Some(of(Poison::Seed)).filter(|names| !names.is_empty()).map(|names| format!("the seed of {names}"));
    let all = whole.into_iter().chain(seed).collect::<Vec<_>>().join("; ");
    format!("Poisonous: {all}. Keep seed and plants from children and animals; wash hands (from memory).")
}

fn stands_long(all: &[StandsLong]) -> String {
    let of = all.iter().map(|StandsLong { crop, stands, weeks, sow }| {
        let (weeks, sow) = (span(*weeks, "", ""), sow.strftime("%-d %b"));
        format!("{} is {stands} weeks old, not {}: sow from {sow}", crop.shown(), weeks.trim_end())
    });
    format!("At the last frost {}, or pot on.", of.collect::<Vec<_>>().join("; "))
}

fn batch_warning(batch: &str, warning: &BatchWarning, units: UnitSystem) -> String {
    match warning {
        BatchWarning::Rich { share, strongly, crops } => format!(
            "Castings and compost make {} of the batch `{batch}`{}. In one trial emergence suffered from 10 % on, in others \
             10 to 20 % helped{}; it is the salts and the ripeness that count: sow in a poorer mix and pot on into this, \
             or keep the conductivity of an extract low.",
            whole_percent(*share),
            if crops.is_empty() { String::new() } else { format!(", much for seed of {}", and(crops)) },
            if *strongly { ", and this is more than a third: do not sow into it untested" } else { "" }
        ),
        BatchWarning::StrongDose { what, grams_per_litre, limit } => format!(
            "The batch `{batch}` holds {} of {} to the {}, and {}: check the rate and its unit.",
            units.either(format!("{} g", plain(*grams_per_litre, 1)), pounds_per_yard(*grams_per_litre, 1)),
            and(what),
            units.either("litre", "cubic yard"),
            match limit {
                DoseLimit::Lime => format!(
                    "{} are published for peat (UC Davis 2007; Maher et al. 2008)",
                    units.either("3 to 7 g".to_owned(), format!("5 to {}", pounds_per_yard(7.0, 0)))
                ),
                DoseLimit::Fertiliser => format!(
                    "above about {} salts can harm seedlings (from memory)",
                    units.either("10 g".to_owned(), pounds_per_yard(10.0, 0))
                ),
            }
        ),
        BatchWarning::DoseAsPart(ingredient, share) => format!(
            "The batch `{batch}` is {} {}, which is dosed by {} as a rule: is a dose under `doses:` meant?",
            whole_percent(*share),
            ingredient.name,
            units.either("the gram", "weight")
        ),
        BatchWarning::PhosphorusWithInoculant(fertiliser) => format!(
            "The batch `{batch}` holds an inoculant and {}: soluble phosphorus keeps mycorrhiza from forming (Douds 2009: \
             next to none at 31 ppm in the feed).",
            fertiliser.name
        ),
    }
}

/// Pounds in a cubic yard, as US tables print doses.
fn pounds_per_yard(grams_per_litre: f64, decimals: usize) -> String {
    let yard = to_litres(Volume::new::<cubic_yard>(1.0));
    format!("{} lb", plain(Mass::new::<gram>(grams_per_litre * yard).get::<pound>(), decimals))
}

fn soak_warning(warning: &SoakWarning, units: UnitSystem) -> String {
    match warning {
        SoakWarning::OutOfReach => {
            "The coir's course does not reach its target: the worksheet says what would.".to_owned()
        }
        SoakWarning::AfterMix(ready) => after_mix(ready),
        SoakWarning::Waits(hours) => format!(
            "Soaked coir would wait {} days for the mix. Dripping in a closed tub it keeps three, drained, hand-moist, loosely \
             covered and cool about three weeks (common practice); `ready:` under `soak:` soaks it later.",
            plain(hours / 24.0, 1)
        ),
        SoakWarning::GrowsStale { runs, hours } => grows_stale(*runs, *hours),
        SoakWarning::ReadyOutsideAwake(at) => outside_awake("The coir is to be ready", at),
        SoakWarning::NoTime(fitting) => no_time(*fitting, units),
        SoakWarning::Unsaid => COIR_UNSAID.to_owned(),
        SoakWarning::Salt(salt) => salt_safety(salt).unwrap_or_default(),
        SoakWarning::Course(caution) => format!("The coir's course: {}.", caution.text),
    }
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
        Note::LoadUnchecked => {
            "`load:` is not looked at yet: weigh a watered tray against what a shelf may carry.".to_owned()
        }
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
    use crate::units::mass::gram;
    use crate::units::{Mass, in_litres};

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
