//! Facts of a place that a season uses, and what a file took from its place.

use crate::awake::{DAYS_EXPECTED, days_of, place_of};
use crate::catalogue::{Crop, Frost as Hardiness};
use crate::diagnostic::{Code, Problem, Problems};
use crate::moment::YearDay;
use crate::place::rack::Places;
use crate::source::{Fields, FromNode, Node, counts, list, no_more_than, text_of};
use crate::units::UnitSystem;
use jiff::Span;
use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;

/// Facts of a bench that no single week needs, and the place they were taken from.
#[derive(Clone, Debug, Default)]
pub struct Standing {
    /// The units of results, where stated.
    pub units: Option<UnitSystem>,
    /// The zone of its times, where stated.
    pub time_zone: Option<TimeZone>,
    /// The weekdays on which to mix and sow; every day where not stated.
    pub mix_days: Option<MixDays>,
    /// The most trays to be sown on one day.
    pub trays_a_day: Option<u64>,
    /// The average last and first frost.
    pub frost: Frost,
    /// Where hardy plants may go.
    pub frame: Option<Frame>,
    /// What was taken from a place file.
    pub taken: Option<Taken>,
}

/// What a file took from its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The name of the place.
    pub place: String,
    /// Its file, as it may be shown.
    pub file: String,
    /// The keys, in the order of the place.
    pub keys: Vec<String>,
}

/// Average dates of frost; half of the years are later, or earlier.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Frost {
    /// The last one of the cold season.
    pub last: Option<YearDay>,
    /// The first one of the next.
    pub first: Option<YearDay>,
}

/// Days without frost after the last one, where the first is not stated. A judgement.
const FROST_FREE_DAYS: i64 = 182;

impl Frost {
    /// The average last frost before what is planted out on a day: that of the next spring, where the day is in the
    /// cold season.
    pub fn last_before(self, day: Date) -> Option<Date> {
        let [before, first, next] = self.around(day)?;
        Some(if day < first { before } else { next })
    }

    /// The same of a day that is stated: none in the earlier half of the cold season, which is autumn.
    pub fn last_of_spring(self, day: Date) -> Option<Date> {
        let [before, first, next] = self.around(day)?;
        let is_near = (next - day).get_days() <= (day - first).get_days();
        if day < first { Some(before) } else { Some(next).filter(|_| is_near) }
    }

    /// The same where a crop stands no frost, and so waits for it.
    pub fn for_tender(self, crop: Option<&Crop>, day: Date) -> Option<Date> {
        self.last_of_spring(day).filter(|_| crop.is_some_and(|crop| crop.frost == Some(Hardiness::Tender)))
    }

    /// The last frost before a day, the first one after that, and the last one after the day.
    fn around(self, day: Date) -> Option<[Date; 3]> {
        let last = self.last?;
        let near = |of: YearDay, day: Date| (day.year() - 1..=day.year() + 1).filter_map(move |year| of.in_year(year));
        let before = near(last, day).take_while(|last| *last <= day).last()?;
        let first = match self.first {
            Some(first) => near(first, before).find(|first| *first > before),
            None => before.checked_add(Span::new().days(FROST_FREE_DAYS)).ok(),
        };
        Some([before, first?, near(last, day).find(|last| *last > day)?])
    }

    /// The average first frost of the cold season of a day, or the one to come, if the day lies less than so many days
    /// before it, or after it. Without a last frost it is that of the day's year.
    pub fn first_within(self, days: i32, day: Date) -> Option<Date> {
        let of_year = self.first?.in_year(day.year())?;
        let first = self.around(day).map_or(of_year, |[_, first, _]| first);
        Some(first).filter(|first| (*first - day).get_days() < days)
    }
}

/// A cold frame or greenhouse that hardy plants may go to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame {
    /// Trays that it takes.
    pub places: u64,
    /// When it is opened each year.
    pub from: YearDay,
}

/// Days of the week, Monday first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MixDays([bool; 7]);

/// As many as a week has.
const MOST_DAYS: usize = 7;

counts! {
    /// Trays that one day's work can be.
    TraysADay(u64): "a number of trays", 1_000_000;
}

impl Standing {
    /// Reads the keys; the zone is that of the file's times.
    pub fn read(fields: &mut Fields<'_>) -> Self {
        Self {
            units: fields.optional("units"),
            time_zone: fields.optional("time_zone"),
            mix_days: fields.optional("mix_days"),
            trays_a_day: fields.optional("trays_a_day").map(|TraysADay(trays)| trays),
            frost: fields.optional("frost").unwrap_or_default(),
            frame: fields.optional("frame"),
            taken: None,
        }
    }

    /// Its time zone, or that of the machine.
    pub fn zone(&self, of_machine: fn() -> TimeZone) -> TimeZone {
        self.time_zone.clone().unwrap_or_else(of_machine)
    }

    /// Whether the value of a key, or some of it, is the place's.
    pub fn took(&self, key: &str) -> bool {
        self.taken.as_ref().is_some_and(|taken| taken.keys.iter().any(|taken| taken == key))
    }
}

impl MixDays {
    /// Whether such a day is one of them.
    pub fn holds(self, day: Weekday) -> bool {
        self.0[place_of(day)]
    }
}

impl FromNode for MixDays {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        let mut days = [false; 7];
        if list(node).is_empty() {
            return problems.refuse(Problem::new(Code::Choice, node.at, "no day is named", DAYS_EXPECTED));
        }
        for entry in no_more_than(list(node), MOST_DAYS, "days", node.at, problems) {
            let name = text_of(entry, DAYS_EXPECTED, problems)?;
            let Some(found) = days_of(name.trim()) else {
                let what = format!("`{name}` is no day of the week");
                return problems.refuse(Problem::new(Code::Choice, entry.at, what, DAYS_EXPECTED));
            };
            for day in found {
                days[place_of(*day)] = true;
            }
        }
        Some(Self(days))
    }
}

impl FromNode for Frost {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "the frost dates", problems, |fields| {
            Some(Self { last: fields.optional("last"), first: fields.optional("first") })
        })
    }
}

impl FromNode for Frame {
    fn from_node(node: &Node<'_>, problems: &Problems) -> Option<Self> {
        Fields::read(node, "a cold frame", problems, |fields| {
            let places = fields.required("places").map(|Places(places)| places);
            let from = fields.required("from");
            Some(Self { places: places?, from: from? })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::SourceText;
    use crate::source::parse;

    fn read(text: &str) -> Result<Standing, String> {
        let problems = Problems::new(SourceText::argument("x", text));
        let node = parse(text, &problems).unwrap();
        let read = Fields::read(&node, "a place", &problems, |fields| Some(Standing::read(fields)));
        problems.settle(read).map(|(standing, _)| standing).map_err(|rejected| rejected.to_string())
    }

    #[test]
    fn what_a_season_uses_is_read() {
        let text = "units: us\nmix_days: [saturday, weekdays]\ntrays_a_day: 16\n\
                    frost: {last: 10 May, first: Oct 5}\nframe: {places: 12, from: 20 March}\n";
        let standing = read(text).unwrap();
        assert_eq!((standing.units, standing.trays_a_day), (Some(UnitSystem::Us), Some(16)));
        let days = standing.mix_days.unwrap();
        assert!(days.holds(Weekday::Saturday) && days.holds(Weekday::Monday) && !days.holds(Weekday::Sunday));
        let day = |day: Option<YearDay>| day.and_then(|day| day.in_year(2027)).map(|date| date.to_string());
        assert_eq!(day(standing.frost.last).as_deref(), Some("2027-05-10"));
        assert_eq!(day(standing.frost.first).as_deref(), Some("2027-10-05"));
        let frame = standing.frame.unwrap();
        assert_eq!((frame.places, day(Some(frame.from)).as_deref()), (12, Some("2027-03-20")));
    }

    #[test]
    fn faults_say_what_to_write() {
        for (text, wanted) in [
            ("units: imperial\n", "one of metric, us"),
            ("mix_days: [caturday]\n", "`caturday` is no day of the week"),
            ("mix_days: []\n", "no day is named"),
            ("trays_a_day: 0\n", "from 1 to 1"),
            ("frost: {last: 31 June}\n", "`31 June` is not a day of every year"),
            ("frost: {last: 29 February}\n", "not a day of every year"),
            ("frost: {last: 2027-05-10}\n", "a day without its year, such as `10 May`"),
            ("frost: {next: 10 May}\n", "`next` is not a key of the frost dates"),
            ("frame: {places: 12}\n", "a cold frame needs `from:`"),
        ] {
            let fault = read(text).map(|_| ()).unwrap_err();
            assert!(fault.contains(wanted), "{text}: {fault}");
        }
    }
}
