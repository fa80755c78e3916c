//! When a dam may calve: from the day she was served, or the day she is due, with the spread of its source.
//!
//! A window is never narrower than its source allows, and it does not decide that a dam is late: who is
//! past it and still carries is watched on. Days are elapsed days: the day of service is day 0, and a dam
//! that carries 283 days calves on day 283. Printed tables that count the day of service as day 1 are a
//! day early (facts.md D-06 to D-09).

use jiff::ToSpan as _;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::past::Own;
use crate::config::animals::{AnimalRow, Parity, Service};
use crate::config::species::{Days, Gestation, Species};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// Four in five lie within so many standard deviations (tables of the normal distribution), in
/// millionths.
const FOUR_IN_FIVE: i64 = 1_281_552;
/// And nineteen in twenty within so many.
const NINETEEN_IN_TWENTY: i64 = 1_959_964;
/// So many hours after midnight an overdue dam is asked about: by daylight, also across a change of the
/// clocks, so that nobody is woken because a date has turned (common practice, no source).
const MORNING: i8 = 9;

/// The first and the last day, both in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// The likeliest day; of a range the one in its middle.
    pub expected: Date,
    /// Four births in five, whichever day of a range it was.
    pub likely: (Date, Date),
    /// Nineteen births in twenty, whichever day of a range it was.
    pub from: Date,
    pub until: Date,
    /// The days that are all as likely, where nobody knows on which day she was served.
    pub flat: Option<(Date, Date)>,
    pub basis: Basis,
    /// The first and last day on which she may have been served.
    pub served: Option<(Date, Date)>,
    pub carried: Carried,
    /// Born before this day it is surely not at term.
    pub term: Option<Date>,
    /// The last day on which anybody looks for her: then the date was wrong.
    pub given_up: Date,
}

/// Where a window comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    Ai,
    Bull,
    Embryo,
    Scan,
    /// Served, and nobody wrote how.
    Served,
    /// The herd file says when she is due.
    Due,
}

/// How long she is thought to carry, and whose figure that is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carried {
    pub days: Days,
    /// "Holstein heifer", "cattle".
    pub whose: String,
    /// From the farm's own past seasons.
    pub yours: bool,
    /// For how many calves, where a scan has shown more than one and that is known to count.
    pub calves: u8,
    /// By how much her mate's calves come later than others, by the farm's own past.
    pub sire: Days,
}

/// Where a day stands to a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    Overdue,
    In,
    Before,
    /// So long past it that the date must be wrong.
    GivenUp,
}

/// A window's edges as moments, for whoever asks all the time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edges {
    /// She comes into it.
    pub opens: Moment,
    /// Nobody looks for her any more.
    pub given_up: Moment,
    /// The morning of its last day: so many days after it she is so many days past.
    pub over: Moment,
    /// Born before this it is not at term.
    pub term: Option<Moment>,
}

/// How far the tails reach before and behind the likeliest day.
struct Tails {
    before: Days,
    after: Days,
}

impl Window {
    /// `None` if the herd file has no date for her that counts.
    pub fn of(row: &AnimalRow, species: &Species, own: &Own) -> Option<Self> {
        let gestation = &species.gestation;
        let (carried, sd) = carried(row, species, own);
        let tails = tails(row.service, gestation, sd)?;
        // An embryo is some days old when it is put in, and the day may be of either.
        let embryo = gestation.embryo.as_ref().filter(|_| row.service == Some(Service::Embryo));
        let younger = embryo.map_or(0, |figure| figure.days.nearest());
        let (basis, first, last) = match (row.due, row.served, carried.days) {
            (Some((first, last)), ..) => (Basis::Due, first, last),
            (None, Some((first, last)), days) if days.0 > 0 => {
                let days = days.nearest();
                (basis(row.service), moved(first, days - younger), moved(last, days))
            }
            (None, ..) => return None,
        };
        let at = |z: i64| {
            let part = |days: Days| Days(days.0 * z / NINETEEN_IN_TWENTY);
            let before = nearest_from(&carried, basis, Days(-part(tails.before).0));
            let after = nearest_from(&carried, basis, part(tails.after));
            (moved(first, before), moved(last, after))
        };
        let (from, until) = at(NINETEEN_IN_TWENTY);
        let early = |term: i64| moved(first, term - carried.days.nearest());
        let term = gestation.term.as_ref().map(|term| early(term.days.nearest()));
        Some(Self {
            expected: moved(first, between(first, last) / 2),
            likely: at(FOUR_IN_FIVE),
            from,
            until,
            flat: (first != last).then_some((first, last)),
            basis,
            served: row.served,
            carried,
            term,
            given_up: moved(until, gestation.overdue().nearest()),
        })
    }

    /// Which day of her carrying a day is: a range where the day of service is one.
    pub fn day(&self, day: Date) -> Option<(i64, i64)> {
        let (first, last) = self.served?;
        Some((between(last, day), between(first, day)))
    }

    pub fn phase(&self, today: Date) -> Phase {
        if today < self.from {
            Phase::Before
        } else if today <= self.until {
            Phase::In
        } else if today <= self.given_up {
            Phase::Overdue
        } else {
            Phase::GivenUp
        }
    }

    /// Its edges by the farm's own days.
    pub fn edges(&self, zone: &Zone) -> Edges {
        let midnight = |day: Date| zone.instant(day.at(0, 0, 0, 0));
        Edges {
            opens: midnight(self.from),
            given_up: midnight(moved(self.given_up, 1)),
            over: zone.instant(self.until.at(MORNING, 0, 0, 0)),
            term: self.term.map(midnight),
        }
    }

    /// Where it comes from: "AI 2026-02-14 + 281.7, Angus heifer".
    pub fn source(&self) -> String {
        let days = |(first, last): (Date, Date)| {
            if first == last { first.to_string() } else { format!("{first} to {last}") }
        };
        let Carried { days: mean, whose, yours, calves, sire } = &self.carried;
        let by = match self.basis {
            Basis::Due => {
                let (first, last) = self.flat.unwrap_or((self.expected, self.expected));
                return format!("due {}, as written", days((first, last)));
            }
            Basis::Ai => "AI",
            Basis::Bull => "bull",
            Basis::Embryo => "embryo",
            Basis::Scan => "scan: served",
            Basis::Served => "served",
        };
        let mut text = self.served.map_or(String::new(), |served| format!("{by} {}", days(served)));
        text.push_str(&format!(" + {mean}, {whose}"));
        match calves {
            0 | 1 => {}
            2 => text.push_str(", twins"),
            3.. => text.push_str(", triplets or more"),
        }
        if sire.0 != 0 {
            text.push_str(", by its sire");
        }
        if *yours {
            text.push_str(", yours");
        }
        text
    }
}

fn basis(service: Option<Service>) -> Basis {
    match service {
        Some(Service::Ai) => Basis::Ai,
        Some(Service::Bull) => Basis::Bull,
        Some(Service::Embryo) => Basis::Embryo,
        Some(Service::Scan) => Basis::Scan,
        None => Basis::Served,
    }
}

/// How far a tail's end lies from the day that it is counted from. The thousandths of the mean are not
/// lost: they are rounded once, together with the tail's.
fn nearest_from(carried: &Carried, basis: Basis, tail: Days) -> i64 {
    match basis {
        Basis::Due => tail.nearest(),
        Basis::Ai | Basis::Bull | Basis::Embryo | Basis::Scan | Basis::Served => {
            Days(carried.days.0 + tail.0).nearest() - carried.days.nearest()
        }
    }
}

/// How long she is thought to carry: the breed's figure by her parity, or the farm's own, else the
/// species'; and the spread of that, if it has one.
fn carried(row: &AnimalRow, species: &Species, own: &Own) -> (Carried, Option<Days>) {
    let gestation = &species.gestation;
    // An embryo carries the breed of its own parents, which the herd file does not name.
    let is_hers = row.service != Some(Service::Embryo);
    let breed = gestation.breed(&row.breed).filter(|_| is_hers);
    let mean = gestation.mean.as_ref().map_or(Days::default(), |figure| figure.days);
    let mean = breed.map_or(mean, |breed| breed.mean(row.parity));
    let sd = gestation.sd.as_ref().map(|figure| figure.days);
    let sd = breed.and_then(|breed| breed.sd).or(sd);
    let parity = match row.parity {
        Parity::Heifer => " heifer",
        Parity::Cow => " cow",
    };
    let known = own.figure(&row.breed, row.parity, mean, sd).filter(|_| is_hers);
    let name = breed.map_or(species.name.as_str(), |breed| breed.name());
    let name = if known.is_some() && breed.is_none() { row.breed.as_str() } else { name };
    let parity = if breed.is_some() || known.is_some() { parity } else { "" };
    let more = match row.scanned {
        Some(2) => gestation.twins.as_ref(),
        Some(3..) => gestation.triplets.as_ref(),
        Some(0 | 1) | None => None,
    };
    let sire = if is_hers { own.sire(&row.sire) } else { Days::default() };
    let (mean, sd) = known.map_or((mean, sd), |(mean, sd)| (mean, Some(sd)));
    let shift = more.map_or(0, |figure| figure.days.0);
    let carried = Carried {
        days: Days(mean.0 + shift + sire.0),
        whose: format!("{name}{parity}"),
        yours: known.is_some(),
        calves: more.map_or(1, |_| row.scanned.unwrap_or(1)),
        sire,
    };
    (carried, sd)
}

/// How far nineteen in twenty reach to either side, by how the date is known.
fn tails(service: Option<Service>, gestation: &Gestation, sd: Option<Days>) -> Option<Tails> {
    let scan = gestation.scan.as_ref().filter(|_| service == Some(Service::Scan));
    if let Some(scan) = scan {
        return Some(Tails { before: scan.days, after: scan.days });
    }
    if let Some(sd) = sd {
        let tail = Days(sd.0 * NINETEEN_IN_TWENTY / 1_000_000);
        return Some(Tails { before: tail, after: tail });
    }
    let (from, until, _) = gestation.range.as_ref()?;
    let mean = gestation.mean.as_ref()?.days;
    Some(Tails { before: Days(mean.0 - from.0), after: Days(until.0 - mean.0) })
}

/// A date outside the calendar stays where it is: no farm has such a date.
fn moved(day: Date, days: i64) -> Date {
    day.checked_add(days.days()).unwrap_or(day)
}

/// Elapsed days from one day to another.
pub fn between(first: Date, last: Date) -> i64 {
    // Two dates of a calendar of 20,000 years are always so many whole days apart.
    first.until(last).map_or(0, |span| i64::from(span.get_days()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{NamedText, SettingsText, parse};
    use crate::plain::ids::Animal;
    use jiff::civil::date;

    fn species(name: &str) -> Species {
        let text = include_str!("../../tests/configs/least.toml");
        let text = text.replace("herd = \"herd.csv\"", &format!("species = \"{name}\""));
        let files = vec![NamedText { name: "farm.toml".to_owned(), text }];
        parse(&SettingsText { files }).config.unwrap().species
    }

    fn row(
        served: Option<(Date, Date)>,
        due: Option<(Date, Date)>,
        service: Option<Service>,
    ) -> AnimalRow {
        AnimalRow { animal: Animal::new("114"), served, due, service, ..AnimalRow::default() }
    }

    fn of(row: &AnimalRow) -> Option<Window> {
        Window::of(row, &species("cattle"), &Own::default())
    }

    /// Source: facts.md G-35 (arithmetic from G-01 and G-03: two standard deviations of 5.5 days about day 283
    /// are days 272 to 294).
    #[test]
    fn of_an_unknown_breed_nineteen_in_twenty_calve_from_day_272_to_294() {
        let served = date(2026, 2, 14);
        let window = of(&row(Some((served, served)), None, Some(Service::Ai))).unwrap();
        let day = |on| window.day(on).unwrap();
        assert_eq!(day(window.from), (272, 272));
        assert_eq!(day(window.expected), (283, 283));
        assert_eq!(day(window.until), (294, 294));
        // 5.5 days by 1.2816 are 7.05.
        assert_eq!((day(window.likely.0), day(window.likely.1)), ((276, 276), (290, 290)));
        assert_eq!(window.term.map(day), Some((260, 260)));
        assert_eq!(window.source(), "AI 2026-02-14 + 283, cattle");
    }

    /// Source: needs.md N105: ultrasound within 15 days; a bull's run is as wide as it was.
    #[test]
    fn a_window_is_as_wide_as_its_source() {
        let (first, last) = (date(2026, 2, 1), date(2026, 3, 15));
        let bull = of(&row(Some((first, last)), None, Some(Service::Bull))).unwrap();
        assert_eq!((bull.from, bull.until), (date(2026, 10, 31), date(2027, 1, 3)));
        assert_eq!(bull.flat, Some((date(2026, 11, 11), date(2026, 12, 23))));
        assert_eq!(bull.day(date(2026, 11, 24)), Some((254, 296)));
        let due = date(2026, 11, 25);
        let scan = of(&row(None, Some((due, due)), Some(Service::Scan))).unwrap();
        assert_eq!((scan.from, scan.until), (date(2026, 11, 10), date(2026, 12, 10)));
        let both = row(Some((first, last)), Some((due, due)), Some(Service::Ai));
        assert_eq!(of(&both).unwrap().from, date(2026, 11, 14), "due goes first");
        assert_eq!(of(&row(None, None, None)), None);
    }

    #[test]
    fn twins_and_an_embryo_come_earlier_and_a_cross_is_not_its_breed() {
        let served = Some((date(2026, 2, 14), date(2026, 2, 14)));
        let angus = AnimalRow {
            breed: "aa".into(),
            parity: Parity::Heifer,
            ..row(served, None, Some(Service::Ai))
        };
        let one = of(&angus).unwrap();
        assert_eq!(one.source(), "AI 2026-02-14 + 281.7, Angus heifer");
        let twins = of(&AnimalRow { scanned: Some(2), ..angus.clone() }).unwrap();
        // 281.7 - 6.8 = 274.9.
        assert_eq!(twins.source(), "AI 2026-02-14 + 274.9, Angus heifer, twins");
        assert_eq!(between(twins.expected, one.expected), 7);
        let cross = of(&AnimalRow { breed: "AAX".into(), ..angus.clone() }).unwrap();
        assert_eq!(cross.carried.whose, "cattle");
        let embryo = of(&AnimalRow { service: Some(Service::Embryo), ..angus }).unwrap();
        assert_eq!(embryo.flat, Some((date(2026, 11, 17), date(2026, 11, 24))));
        assert_eq!(embryo.carried.whose, "cattle", "the calf is not of her breed");
    }

    #[test]
    fn each_phase_ends_where_the_next_begins() {
        let due = date(2026, 11, 25);
        let window = of(&row(None, Some((due, due)), None)).unwrap();
        for (day, phase) in [
            (date(2026, 11, 13), Phase::Before),
            (date(2026, 11, 14), Phase::In),
            (date(2026, 12, 6), Phase::In),
            (date(2026, 12, 7), Phase::Overdue),
            (date(2026, 12, 27), Phase::Overdue),
            (date(2026, 12, 28), Phase::GivenUp),
        ] {
            assert_eq!(window.phase(day), phase, "{day}");
        }
        assert_eq!(window.day(due), None, "nobody knows when she was served");
    }

    /// Sources: facts.md O-01 to O-07 and O-09 (teaching pages, extension services, practice pages).
    #[test]
    fn other_species_carry_as_long_as_their_sources_say() {
        let served = date(2026, 1, 1);
        for (name, days) in [
            ("sheep", (144, 147, 151)),
            ("goat", (145, 150, 155)),
            ("horse", (322, 340, 345)),
            ("pig", (113, 115, 117)),
            ("alpaca", (335, 343, 350)),
            ("buffalo", (300, 310, 320)),
        ] {
            let row = row(Some((served, served)), None, None);
            let window = Window::of(&row, &species(name), &Own::default()).unwrap();
            let day = |on| window.day(on).unwrap().0;
            assert_eq!((day(window.from), day(window.expected), day(window.until)), days, "{name}");
        }
    }
}
