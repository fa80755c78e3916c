//! One text about several matters: what waits for a list, what rides along with a call that wakes somebody anyway,
//! what a storm has brought. The worst three stand first, each with its code; nothing urgent comes this way.

use super::cautions;
use super::wording::{self, HEAD_MAX, SMS_MAX, Words};
use crate::alarm::alert::{Alert, Past};
use crate::config::Config;
use crate::plain::english::{list, many, span};
use crate::plain::moment::Moment;

/// Why several come in one text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Their time came together.
    Several,
    /// Somebody is woken anyway.
    Company,
}

/// The worst, which stand in a text message (needs.md N11).
const WORST: usize = 3;
/// A mail about more of one cause names these and counts the rest.
const WRITTEN: usize = 40;
/// What had passed by itself is named so far.
const PASSED: usize = 10;

const HOW_TO_ANSWER: &str = "
Reply going: all of these are yours. Or name one by its code: going, pass, or what you see.
";

/// The alerts come worst first; at least two of them. `unseen`: what passed before anybody had answered.
pub fn words(config: &Config, open: &[&Alert], unseen: &[&Past], why: Why, now: Moment) -> Words {
    let subject = wording::cut(&subject(open, why), HEAD_MAX);
    let mut mail = format!("{subject}\n\n");
    for alert in open.iter().take(WRITTEN) {
        let rule = config.rules.iter().find(|rule| rule.name == alert.rule);
        let action = rule.and_then(|rule| rule.action.as_deref()).unwrap_or("Go and look.");
        mail.push_str(&format!("{}\n  {action}\n", wording::head(config, alert, now)));
        if let Some(late) = alert.late {
            mail.push_str(&format!("  Late by {}: we were down.\n", span(late)));
        }
    }
    if open.len() > WRITTEN {
        mail.push_str(&format!("and {} more\n", open.len() - WRITTEN));
    }
    if !unseen.is_empty() {
        mail.push_str("\nPassed by itself before anybody had answered:\n");
        for past in unseen.iter().rev().take(PASSED) {
            let ended = config.farm.zone.date_and_clock(past.ended);
            let Past { subject, rule, code, because, .. } = past;
            mail.push_str(&format!("{subject}: {rule} {code}, {ended}, {because}\n"));
        }
        if unseen.len() > PASSED {
            mail.push_str(&format!("and {} more\n", unseen.len() - PASSED));
        }
    }
    mail.push_str(HOW_TO_ANSWER);
    mail.push_str(&config.terms.in_words(cautions::ALWAYS));
    Words { sms: sms(config, open, why), subject, mail }
}

/// A call about one dam, and what else is urgent about her: in a text where there is room.
pub fn with_more(mut words: Words, more: &[&Alert]) -> Words {
    if more.is_empty() {
        return words;
    }
    let named: Vec<String> =
        more.iter().map(|alert| format!("{} {}", alert.rule, alert.code)).collect();
    let also = format!("Also: {}.", wording::plain(&named.join(", ")));
    let at = words.mail.find("\n\n").map_or(words.mail.len(), |at| at + 1);
    words.mail.insert_str(at, &format!("{also}\n"));
    let short = [format!(" {also}"), format!(" And {} more.", more.len())];
    if let Some(short) = short.iter().find(|short| words.sms.len() + short.len() <= SMS_MAX)
        && let Some(end) = words.sms.rfind(" Reply going")
    {
        words.sms.insert_str(end, short);
    }
    words
}

/// "3 matters: placenta not passed 114, 207; sensor battery t-31".
fn subject(open: &[&Alert], why: Why) -> String {
    let mut causes: Vec<(&str, Vec<String>)> = Vec::new();
    for alert in open {
        let whom = whom(alert);
        match causes.iter_mut().find(|(rule, _)| *rule == alert.rule.as_str()) {
            Some((_, of)) => of.push(whom),
            None => causes.push((alert.rule.as_str(), vec![whom])),
        }
    }
    let causes: Vec<String> = causes
        .into_iter()
        .map(|(rule, mut of)| {
            let more = of.len().saturating_sub(WORST);
            of.truncate(WORST);
            let more = if more == 0 { String::new() } else { format!(" and {more} more") };
            format!("{rule} {}{more}", of.join(", "))
        })
        .collect();
    wording::plain(&format!("{}: {}", head(open, why), causes.join("; ")))
}

fn head(open: &[&Alert], why: Why) -> String {
    let matters = many(open.len(), "matter", "matters");
    match why {
        Why::Several => matters,
        Why::Company => format!("While you are up, {matters}"),
    }
}

fn whom(alert: &Alert) -> String {
    let subject = alert.subject.to_string();
    let on = alert.on.as_ref().map(|animal| format!(" on {animal}")).unwrap_or_default();
    let short = ["dam ", "device "].iter().find_map(|word| subject.strip_prefix(word));
    format!("{}{on}", short.unwrap_or(&subject))
}

/// As many of the worst as fit whole, each with its code.
fn sms(config: &Config, open: &[&Alert], why: Why) -> String {
    let late = open.iter().filter_map(|alert| alert.late).max();
    let late = late.map_or(String::new(), |late| format!(" Late {}, we were down.", span(late)));
    let begin = format!("{}.{late} ", head(open, why));
    let end = " Reply going, or a code.";
    let mut named: Vec<String> = Vec::new();
    for alert in open.iter().take(WORST) {
        let one = wording::head_with(config, alert, alert.rule.as_str());
        let left = open.len() - named.len() - 1;
        let more = if left == 0 { String::new() } else { format!("; {left} more.") };
        let so_far: usize = named.iter().map(|one| one.len() + 2).sum();
        if begin.len() + so_far + one.len() + more.len() + end.len() > SMS_MAX {
            break;
        }
        named.push(one);
    }
    let left = open.len() - named.len();
    let more = match (left, named.is_empty()) {
        (0, _) => ".".to_owned(),
        (_, true) => format!("{} more.", list(&[left.to_string()])),
        (_, false) => format!("; {left} more."),
    };
    format!("{begin}{}{more}{end}", named.join("; "))
}
