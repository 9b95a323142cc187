//! Warnings of a plan in words.

use super::PlanReport;
use super::calendar::treat;
use super::mixing::mix_name;
use super::sowing::carried;
use crate::catalogue::{Crop, Handle, Ingredient, Named, Poison};
use crate::plan::{BatchWarning, Deed, DoseLimit, LIFT_KG, MixRef, OnRack, SoakWarning, TrialDoubt, Untended, Warning};
use crate::report::words::{
    COIR_UNSAID, after_mix, and, batch_name, capital, count, day_and_hour, day_of, fact, grows_stale, lifted,
    log_unread, needed, no_time, not_entered, outside_awake, salt_safety, short_date, taken_back, tray_name,
    whole_percent,
};
use crate::stock::{Known, SOAKED_KEEPS_DAYS};
use crate::units::mass::{gram, pound};
use crate::units::volume::cubic_yard;
use crate::units::{Cell, Mass, Rounding, UnitSystem, Volume, plain, to_litres};
use jiff::ZonedDateTime;
use jiff::civil::Date;

impl PlanReport<'_> {
    /// A warning in words.
    pub(super) fn warning(&self, warning: &Warning, units: UnitSystem) -> String {
        match warning {
            Warning::AlreadyMixed(known) => already_mixed(known),
            Warning::NotEntered(day) => not_entered(*day),
            Warning::LogUnread(why) => log_unread(why),
            Warning::SoakedCoirUnused(unfit) => soaked_unused(unfit, self.week.day(), units),
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
            Warning::WantsAcid { crops, left_out, mild } => wants_acid(crops, left_out, mild),
            Warning::Trial(crop, doubt) => of_trial(crop, *doubt),
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

fn while_away(away: &[(Date, Untended)]) -> String {
    let each = away.iter().map(|(day, what)| match what {
        Untended::Water(last) if day == last => format!("to water the new trays on {}", short_date(*day)),
        Untended::Water(last) => format!("to water the new trays from {} to {}", short_date(*day), short_date(*last)),
        Untended::Seedlings(crops, last) => {
            let until = if day == last { String::new() } else { format!(", until {}", short_date(*last)) };
            format!("for the seedlings of {}, the first up on {}{until}", and(crops), short_date(*day))
        }
        Untended::Deed(deed, crops) => {
            let what = match deed {
                Deed::Treat { before, .. } => format!("to {}", treat(*before, &and(crops))),
                Deed::Measure { .. } => format!("to measure the trial of {}", and(crops)),
                Deed::Harden { .. } => return format!("to harden off {} from {}", and(crops), short_date(*day)),
                _ => format!("to plant out {}", and(crops)),
            };
            format!("{what} on {}", short_date(*day))
        }
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
fn soaked_unused(unfit: &[(Volume, Date)], mix_on: Option<Date>, units: UnitSystem) -> String {
    let is_to_come = unfit.iter().any(|(_, made)| mix_on.is_some_and(|day| day < *made));
    let why = match is_to_come {
        true => "it is made only after this mix".to_owned(),
        false => format!("it keeps {SOAKED_KEEPS_DAYS} days (common practice); take it off `on_hand:`"),
    };
    let each = unfit.iter().enumerate().map(|(index, (amount, made))| {
        let what = if index == 0 { " of soaked coir," } else { "" };
        format!("{}{what} made {made}", fact(*amount, units))
    });
    let (comma, are) = if unfit.len() == 1 { (",", "is") } else { ("", "are") };
    format!("{}{comma} {are} not used: {why}.", and(each))
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

fn wants_acid(crops: &[Handle<Crop>], left_out: &[Handle<Ingredient>], mild: &[Handle<Ingredient>]) -> String {
    let left_out = match left_out {
        [] => "nothing of the recipe was left out for that".to_owned(),
        ids => format!("left out for that: {}", and(ids)),
    };
    let mild = match mild {
        [] => String::new(),
        [id] => format!(" {} is too mild: take raw peat.", capital(&id.name)),
        ids => format!(" {} are too mild: take raw peat.", capital(&and(ids))),
    };
    format!(
        "An acid mix is wanted for {}; {left_out}.{mild} Check the rest, above all ready-made mix and fertilisers, and the pH \
         (about 4.5 to 5.5, from memory), or use a recipe of its own.",
        and(crops)
    )
}

fn of_trial(crop: &Handle<Crop>, doubt: TrialDoubt) -> String {
    let crop = crop.shown();
    match doubt {
        TrialDoubt::ShortlyFed { on, unfed, from } => format!(
            "The trial of {crop} is measured on {}, {}.",
            short_date(on),
            match from {
                None =>
                    "and the day of its first feed is not known: what differs in the feed may hardly show".to_owned(),
                Some(from) => format!(
                    "{}: what differs in the feed shows from about {} on",
                    if unfed { "before its first feed" } else { "less than two weeks after its first feed" },
                    short_date(from)
                ),
            }
        ),
        TrialDoubt::ShortlyHardened { left, wanted, from } if left < wanted => format!(
            "The trial leaves {left} of {wanted} days to harden {crop}: plant out from {} on.",
            short_date(from)
        ),
        TrialDoubt::ShortlyHardened { from, .. } => {
            format!("Fed for two weeks and hardened after that, {crop} is planted out from {} on.", short_date(from))
        }
        TrialDoubt::Outgrown(out, most) => format!(
            "Measured and hardened first, {crop} of the trial goes out from {} on only, and by the crop table after {} at the \
             most: it may outgrow its cells.",
            short_date(out),
            count(most.into(), "week", "weeks")
        ),
    }
}

fn poisonous(crops: &[Handle<Crop>]) -> String {
    let of = |what: Poison| and(crops.iter().filter(|crop| crop.poisonous == Some(what)));
    let whole = Some(of(Poison::All)).filter(|names| !names.is_empty());
    let seed = Some(of(Poison::Seed)).filter(|names| !names.is_empty()).map(|names| format!("the seed of {names}"));
    let all = whole.into_iter().chain(seed).collect::<Vec<_>>().join("; ");
    format!("Poisonous: {all}. Keep seed and plants from children and animals; wash hands (from memory).")
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
        BatchWarning::StrongDose { what, grams_per_litre, limit, by_spoon } => format!(
            "The batch `{batch}` holds {} of {} to the {}{}, and {}: check the rate and its unit.",
            units.either(format!("{} g", plain(*grams_per_litre, 1)), pounds_per_yard(*grams_per_litre, 1)),
            and(what),
            match limit {
                DoseLimit::Lime { of_peat: true } => units.either("litre of peat", "cubic yard of peat"),
                _ => units.either("litre", "cubic yard"),
            },
            if *by_spoon { " (what is by the spoon taken to weigh as much as water)" } else { "" },
            match limit {
                DoseLimit::Lime { .. } => format!(
                    "{} are published for peat (UC Davis 2007; Maher et al. 2008)",
                    units.either("3 to 7 g".to_owned(), format!("5 to {}", pounds_per_yard(7.0, 0)))
                ),
                DoseLimit::Fertiliser(most) => format!(
                    "above about {} salts can harm seedlings (from memory)",
                    units.either(format!("{} g", plain(*most, 1)), pounds_per_yard(*most, 1))
                ),
            }
        ),
        BatchWarning::DoseAsPart(ingredient, share) => format!(
            "The batch `{batch}` is {} {}, which is dosed by {} as a rule: is a dose under `doses:` meant?",
            whole_percent(*share),
            ingredient.name,
            units.either("the gram", "weight")
        ),
        BatchWarning::PhosphorusWithInoculant(fertilisers) => format!(
            "The batch `{batch}` holds {} beside an inoculant, its own or that of its plugs: soluble phosphorus keeps \
             mycorrhiza from forming (Douds 2009: next to none at 31 ppm in the feed).",
            and(fertilisers)
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
