//! What a farm might change in a rule, with what speaks for it: how many of its alerts were called false, which sensor made
//! them, and what another number would have withheld (needs.md N86).
//!
//! It proposes and never changes anything. A number is proposed for one count alone, because only there can the record say
//! what another would have done: the counts that stand behind each alert are kept by the watch, and are followed on after
//! "false" as if nobody had been called. Of every other condition it states what people said, and no more. A number that
//! would have hidden one alert that was right, in all that the journal holds, is not proposed.

use std::collections::BTreeMap;

use super::load::{Came, Load, Raised};
use super::sheet::Sheet;
use crate::config::Config;
use crate::config::rules::{Condition, Rule};
use crate::plain::english::{self, many};
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};

/// Fewer false ones than this are bad luck, and nothing is said of them (common practice, no source).
pub const FALSE_MIN: usize = 3;
/// A rule that is false less often than one time in so many is as good as a rule gets, and nothing is said of it (common
/// practice, no source).
pub const FALSE_ONE_IN: usize = 10;
/// No number is proposed from fewer false ones than this, nor from fewer right ones (common practice, no source).
pub const PROPOSED_FROM_FALSE: usize = 5;
pub const PROPOSED_FROM_RIGHT: usize = 2;
/// Whoever is called this much later may come too late: a cow in second stage is examined after half an hour (facts.md
/// S2-02).
pub const LATER_MAX: Span = Span::minutes(30);
/// Past twice its number it is another rule.
const TIMES_MAX: u64 = 2;

/// What another number of one rule would have done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposal {
    pub at_least: u64,
    /// Alerts called false that would not have been raised.
    pub withheld: usize,
    /// Of those of which nobody said what they were.
    pub unknown: usize,
    /// How much later the right ones would have come, at the most.
    pub later: Span,
}

/// What people said of one rule's alerts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Evidence {
    pub raised: usize,
    pub wrong: usize,
    pub right: usize,
    /// The device that made more than half of the false ones, and how many.
    pub device: Option<(DeviceId, usize)>,
    pub proposal: Result<Proposal, WhyNot>,
}

/// Why no number is proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyNot {
    /// More of them were right than false.
    MostlyRight,
    TooFew,
    /// It is not one count alone, so nobody can say what another number would have done.
    NotACount,
    /// Every number that would have withheld enough would have hidden or delayed one that was right.
    HidesARightOne,
}

/// `None` if there is nothing to say of the rule.
pub fn evidence(load: &Load, rule: &Rule, from: Moment, until: Moment) -> Option<Evidence> {
    // The number may have been changed meanwhile: what would be raised now is what counts.
    let limit = number_of(rule);
    let raised_now = |one: &Raised| match (limit, &one.behind.counted) {
        (Some(limit), Some(count)) => count.reached(limit).is_some(),
        (_, None) | (None, Some(_)) => true,
    };
    let of_rule = |one: &&Raised| one.rule == rule.name && raised_now(one);
    let lately: Vec<&Raised> = load.raised_in(from, until).filter(of_rule).collect();
    let wrong: Vec<&Raised> = lately.iter().copied().filter(|one| is_false(one)).collect();
    if wrong.len() < FALSE_MIN || wrong.len() * FALSE_ONE_IN < lately.len() {
        return None;
    }
    // One that was right long ago is as dear as one of last week.
    let ever: Vec<&Raised> = load.raised_in(Moment::default(), until).filter(of_rule).collect();
    let right: Vec<&Raised> = ever.into_iter().filter(|one| is_right(one)).collect();
    let right_lately = lately.iter().filter(|one| is_right(one)).count();
    Some(Evidence {
        raised: lately.len(),
        wrong: wrong.len(),
        right: right_lately,
        device: most_of(&wrong),
        proposal: propose(limit, &lately, &wrong, &right, right_lately),
    })
}

fn number_of(rule: &Rule) -> Option<u64> {
    if let Condition::Count { at_least, .. } = &rule.condition { Some(*at_least) } else { None }
}

/// Called false, and no calf came.
fn is_false(one: &Raised) -> bool {
    one.came == Some(Came::False) && one.behind.calved.is_none()
}

/// She calved after it, whatever was said, or somebody saw to it.
fn is_right(one: &Raised) -> bool {
    one.behind.calved.is_some() || one.came == Some(Came::True)
}

/// When it had to be known at the latest for anybody to come in time: at its end, or at the calf.
fn needed_by(one: &Raised) -> Option<Moment> {
    [one.ended, one.behind.calved].into_iter().flatten().min()
}

/// The device whose word more than half of them rest on.
fn most_of(wrong: &[&Raised]) -> Option<(DeviceId, usize)> {
    let mut by_device: BTreeMap<&DeviceId, usize> = BTreeMap::new();
    for device in wrong.iter().flat_map(|one| &one.behind.says) {
        *by_device.entry(device).or_default() += 1;
    }
    let (device, most) = by_device.into_iter().max_by_key(|(_, count)| *count)?;
    (most * 2 > wrong.len()).then(|| (device.clone(), most))
}

fn propose(
    limit: Option<u64>,
    lately: &[&Raised],
    wrong: &[&Raised],
    right: &[&Raised],
    right_lately: usize,
) -> Result<Proposal, WhyNot> {
    let are_counts = wrong.iter().all(|one| one.behind.counted.is_some());
    let limit = limit.filter(|_| are_counts).ok_or(WhyNot::NotACount)?;
    if wrong.len() <= right_lately {
        return Err(WhyNot::MostlyRight);
    }
    if wrong.len() < PROPOSED_FROM_FALSE || right.len() < PROPOSED_FROM_RIGHT {
        return Err(WhyNot::TooFew);
    }
    let withheld = |one: &Raised, at_least: u64| {
        one.behind.counted.as_ref().is_some_and(|count| count.reached(at_least).is_none())
    };
    let tried = (limit + 1..=limit * TIMES_MAX).filter_map(|at_least| {
        let count = wrong.iter().filter(|one| withheld(one, at_least)).count();
        let unsaid = lately.iter().filter(|one| !is_false(one) && !is_right(one));
        Some(Proposal {
            at_least,
            withheld: count,
            unknown: unsaid.filter(|one| withheld(one, at_least)).count(),
            later: later(right, at_least)?,
        })
    });
    let worth =
        tried.filter(|tried| tried.withheld >= FALSE_MIN && tried.withheld * 2 >= wrong.len());
    // The most withheld, and of those the smallest number.
    let best = worth.max_by_key(|tried| (tried.withheld, u64::MAX - tried.at_least));
    best.ok_or(WhyNot::HidesARightOne)
}

/// How much later the right ones would have come; `None` if one would have come too late or not at all.
fn later(right: &[&Raised], at_least: u64) -> Option<Span> {
    let each: Option<Vec<Span>> = right
        .iter()
        .map(|one| {
            let at = one.behind.counted.as_ref()?.reached(at_least)?;
            let later = at.since(one.at);
            let in_time = needed_by(one).is_none_or(|needed| at < needed);
            (in_time && later <= LATER_MAX).then_some(later)
        })
        .collect();
    each?.into_iter().max()
}

/// What there is to say of every rule of the farm.
pub(super) fn add(sheet: &mut Sheet, load: &Load, config: &Config, from: Moment, until: Moment) {
    let mut anything = false;
    for rule in &config.rules {
        if let Some(evidence) = evidence(load, rule, from, until) {
            anything = true;
            sheet.para(words(rule, &evidence, until.since(from)));
        }
    }
    if anything {
        sheet.para("Nothing of this is changed by itself, and a number that would have hidden a calving is not proposed.");
    } else {
        sheet.para("No rule was called false often enough to say anything of it.");
    }
}

/// The evidence in words, and the line of the settings to change.
pub fn words(rule: &Rule, evidence: &Evidence, within: Span) -> String {
    let Evidence { raised, wrong, right, device, proposal } = evidence;
    let days = many(usize::try_from(within.whole_seconds() / 86_400).unwrap_or(0), "day", "days");
    let sensor = device.as_ref().map_or(String::new(), |(device, made)| {
        format!(" (sensor {device} made {made}: look at that sensor first)")
    });
    let head = format!(
        "{}: {wrong} of {} in {days} were called false{sensor}, {right} were right. ",
        rule.name,
        many(*raised, "alert", "alerts"),
    );
    let rest = match proposal {
        Ok(proposal) => proposed(rule, proposal, *wrong),
        Err(WhyNot::MostlyRight) => "As many or more were right: no other number is proposed.".to_owned(),
        Err(WhyNot::TooFew) => format!(
            "Too few to propose another number: it takes {PROPOSED_FROM_FALSE} that were called false and \
             {PROPOSED_FROM_RIGHT} that were right."
        ),
        Err(WhyNot::NotACount) => {
            "What another number would have done cannot be told from the record: the rule does not rest on one count alone."
                .to_owned()
        }
        Err(WhyNot::HidesARightOne) => format!(
            "No other number is proposed: each that would have withheld enough of them would have hidden one that was \
             right, or called more than {} later.",
            english::span(LATER_MAX)
        ),
    };
    head + &rest
}

fn proposed(rule: &Rule, proposal: &Proposal, wrong: usize) -> String {
    let Proposal { at_least, withheld, unknown, later } = proposal;
    let now = rule_line(rule, None);
    let then = rule_line(rule, Some(*at_least));
    let unknown = match unknown {
        0 => String::new(),
        some => format!(", {some} of which nobody said what they were"),
    };
    let later = if *later == Span::ZERO {
        "none of them later".to_owned()
    } else {
        format!("the latest by {}", english::span(*later))
    };
    let stage = rule.enters.as_ref().map_or(String::new(), |stage| {
        format!(" Clocks that start with \"{stage}\" would start as much later.")
    });
    format!(
        "With {then} in place of {now}, {withheld} of the {wrong} false ones would have been withheld{unknown}, and no right \
         one ({later}).{stage} To try it, give a [[rule]] called \"{}\" in farm.toml this line: {then}",
        rule.name
    )
}

/// The line as the settings write it, with its number or another.
fn rule_line(rule: &Rule, other: Option<u64>) -> String {
    let Condition::Count { sign, over, at_least, .. } = &rule.condition else {
        return String::new();
    };
    let at_least = other.unwrap_or(*at_least);
    format!("when = {{ count = \"{sign}\", over = \"{over}\", at-least = {at_least} }}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::rules::Devices;
    use crate::config::{self, NamedText, SettingsText};
    use crate::paper::behind::Behind;
    use crate::plain::ids::{AlertNo, Animal};
    use crate::rules::priority::Priority;
    use crate::rules::verdict::Subject;

    fn rule() -> Rule {
        let farm = "[farm]\nname = \"Hollow Bank\"\nzone = \"Europe/Dublin\"\n[broker]\nurl = \"mqtt://127.0.0.1\"\n[[person]]\n\
                    name = \"Ana\"\nmail = \"ana@hollowbank.example\"\n[[line]]\nname = \"mail\"\nkind = \"smtp\"\n\
                    url = \"smtp://127.0.0.1\"\nfrom = \"lowbell@hollowbank.example\"\n";
        let rules = config::shipped::shipped("rules/calving.toml").unwrap_or_default();
        let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
        let files = vec![file("farm.toml", farm), file("rules/calving.toml", rules)];
        let read = config::parse(&SettingsText { files });
        let config = read.config.unwrap_or_else(|| panic!("{:?}", read.faults));
        let rule =
            config.rules.into_iter().find(|rule| rule.name.as_str() == "contractions building");
        let rule = rule.expect("the shipped rule");
        assert!(matches!(&rule.condition, Condition::Count { devices: Devices::Any, .. }));
        rule
    }

    fn minute(n: i64) -> Moment {
        Moment::from_seconds(1_800_000_000) + Span::minutes(n)
    }

    /// What came of it, which numbers its count reached after how many minutes, and when she calved.
    type Invented<'i> = (Option<Came>, &'i [(u64, i64)], Option<i64>);

    /// A day apart each.
    fn load(each: &[Invented<'_>]) -> Load {
        let mut load = Load::default();
        for (at, (came, reached, calved)) in (0_i64..).zip(each) {
            let begin = at * 1_440;
            let reached: Vec<(u64, Moment)> =
                reached.iter().map(|(n, m)| (*n, minute(begin + m))).collect();
            let mut behind = Behind::that_reached(Span::hours(1), &reached);
            behind.says.insert(DeviceId::new(if at == 0 { "tail-2" } else { "tail-1" }));
            behind.calved = calved.map(|m| minute(begin + m));
            let no = AlertNo(u64::try_from(at).unwrap_or_default());
            let one = Raised {
                no,
                rule: "contractions building".into(),
                subject: Subject::Dam(Animal::new("114")),
                priority: Priority::High,
                at: minute(begin),
                ended: Some(minute(begin + 90)),
                came: *came,
                answered: None,
                told: BTreeMap::new(),
                behind,
            };
            load.raised.insert(no, one);
        }
        load
    }

    fn found(load: &Load) -> Option<Evidence> {
        evidence(load, &rule(), minute(-1), minute(60 * 24 * 40))
    }

    const FALSE: Option<Came> = Some(Came::False);
    const TRUE: Option<Came> = Some(Came::True);

    /// Reckoned by hand: of five false ones four stay below ten and one comes to twelve; the right ones come to ten after
    /// 12 and 20 minutes, to eleven after 25 and 40, which is too late.
    #[test]
    fn a_number_is_proposed_that_hides_nothing_that_was_right() {
        let limit = number_of(&rule()).unwrap_or_default();
        let more = |n: u64| limit + n;
        let short: &[(u64, i64)] = &[(more(0), 0), (more(1), 5)];
        let long: &[(u64, i64)] = &[(more(0), 0), (more(5), 30)];
        let one: &[(u64, i64)] = &[(more(0), 0), (more(2), 12), (more(3), 25)];
        let other: &[(u64, i64)] = &[(more(0), 0), (more(2), 20), (more(3), 40)];
        let all = [
            (FALSE, short, None),
            (FALSE, short, None),
            (FALSE, short, None),
            (FALSE, short, None),
            (FALSE, long, None),
            (TRUE, one, None),
            // Called false, and she calved three hours later: it was right.
            (FALSE, other, Some(180)),
        ];
        let said = found(&load(&all)).expect("enough to say");
        assert_eq!((said.raised, said.wrong, said.right), (7, 5, 2));
        assert_eq!(said.device, Some((DeviceId::new("tail-1"), 4)));
        let proposal = said.proposal.clone().expect("a number");
        let expected =
            Proposal { at_least: more(2), withheld: 4, unknown: 0, later: Span::minutes(20) };
        assert_eq!(proposal, expected);
        let words = words(&rule(), &said, Span::days(30));
        for part in [
            "5 of 7 alerts in 30 days were called false",
            "4 of the 5 false ones",
            "the latest by 20 min",
        ] {
            assert!(words.contains(part), "{words}");
        }
        // One right one that never came past the first number: nothing is proposed.
        let mut hidden = all.to_vec();
        hidden.push((TRUE, short, None));
        let said = found(&load(&hidden)).expect("enough to say");
        assert_eq!(said.proposal, Err(WhyNot::HidesARightOne));
    }

    #[test]
    fn few_false_ones_are_bad_luck_and_no_number_rests_on_them() {
        let short: &[(u64, i64)] = &[(number_of(&rule()).unwrap_or_default(), 0)];
        assert_eq!(found(&load(&[(FALSE, short, None), (FALSE, short, None)])), None);
        let three = [(FALSE, short, None); 3];
        let said = found(&load(&three)).expect("enough to say");
        assert_eq!(said.proposal, Err(WhyNot::TooFew));
        // Three of thirty are one in ten, and are named; three of thirty-one are as good as it gets.
        let mut many = three.to_vec();
        many.extend([(TRUE, short, None); 27]);
        assert!(found(&load(&many)).is_some());
        many.push((TRUE, short, None));
        assert_eq!(found(&load(&many)), None);
        let mut right = three.to_vec();
        right.extend([(TRUE, short, None); 3]);
        let said = found(&load(&right)).expect("enough to say");
        assert_eq!(said.proposal, Err(WhyNot::MostlyRight));
    }
}
