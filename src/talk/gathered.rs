//! One text about several matters: what waits for a list, what rides along with a call that wakes somebody anyway,
//! what a storm has brought. The worst three stand first, each with its code; nothing urgent comes this way.

use super::head::{self, HEAD_MAX, in_words, letters, rule_name};
use super::lesson;
use super::phrases::say;
use super::reader::Reader;
use super::wording::{self, SMS_MAX, Words};
use crate::alarm::alert::{Alert, Past};
use crate::config::Config;
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

/// The alerts come worst first; at least two of them. `unseen`: what passed before anybody had answered.
pub fn words(
    config: &Config,
    open: &[&Alert],
    unseen: &[&Past],
    why: Why,
    now: Moment,
    reader: &Reader,
) -> Words {
    let said = reader.phrases();
    let subject = wording::cut(&subject(config, open, why, reader), HEAD_MAX);
    let mut mail = format!("{subject}\n\n");
    for alert in open.iter().take(WRITTEN) {
        let act = lesson::told(config, alert, reader).act;
        mail.push_str(&format!("{}\n  {act}\n", head::head_for(config, alert, now, reader)));
        if let Some(late) = head::late(alert, said.late_mail, reader) {
            mail.push_str(&format!("  {late}\n"));
        }
    }
    if open.len() > WRITTEN {
        mail.push_str(&format!("{}\n", say(said.and_more, &[("n", &(open.len() - WRITTEN))])));
    }
    if !unseen.is_empty() {
        mail.push_str(&format!("\n{}\n", said.passed_unseen));
        for past in unseen.iter().rev().take(PASSED) {
            let ended = config.farm.zone.date_and_clock(past.ended);
            let Past { subject, rule, code, .. } = past;
            let because = wording::because(config, past, reader);
            let rule = rule_name(config, rule.as_str(), reader);
            mail.push_str(&format!("{subject}: {rule} {code}, {ended}, {because}\n"));
        }
        if unseen.len() > PASSED {
            mail.push_str(&format!("{}\n", say(said.and_more, &[("n", &(unseen.len() - PASSED))])));
        }
    }
    mail.push_str(said.how_to_answer_several);
    mail.push_str(&in_words(config, reader, said.always));
    Words { sms: sms(config, open, why, &reader.by_text()), subject, mail }
}

/// A call about one dam, and what else is urgent about her: in a text where there is room.
pub fn with_more(config: &Config, mut words: Words, more: &[&Alert], reader: &Reader) -> Words {
    if more.is_empty() {
        return words;
    }
    let said = reader.phrases();
    let named: Vec<String> = more
        .iter()
        .map(|alert| format!("{} {}", rule_name(config, alert.rule.as_str(), reader), alert.code))
        .collect();
    let also = say(said.also, &[("named", &named.join(", "))]);
    let at = words.mail.find("\n\n").map_or(words.mail.len(), |at| at + 1);
    words.mail.insert_str(at, &format!("{}\n", reader.fold(&also)));
    let short = [also, say(said.and_n_more, &[("n", &more.len())])];
    let short = short.map(|short| reader.by_text().fold(&format!(" {short}")));
    let end = reader.by_text().fold(said.end_of_text);
    let fits = |short: &&String| letters(&words.sms) + letters(short) <= SMS_MAX;
    if let Some(short) = short.iter().find(fits)
        && let Some(end) = words.sms.rfind(&end)
    {
        words.sms.insert_str(end, short);
    }
    words
}

/// "3 matters: placenta not passed 114, 207; sensor battery t-31".
fn subject(config: &Config, open: &[&Alert], why: Why, reader: &Reader) -> String {
    let said = reader.phrases();
    let mut causes: Vec<(&str, Vec<String>)> = Vec::new();
    for alert in open {
        let whom = whom(alert, reader);
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
            let more = if more == 0 { String::new() } else { say(said.more_of, &[("n", &more)]) };
            format!("{} {}{more}", rule_name(config, rule, reader), of.join(", "))
        })
        .collect();
    reader.fold(&format!("{}: {}", begin(open, why, reader), causes.join("; ")))
}

fn begin(open: &[&Alert], why: Why, reader: &Reader) -> String {
    let said = reader.phrases();
    let matters = said.many(open.len(), said.one_matter, said.matters);
    match why {
        Why::Several => matters,
        Why::Company => say(said.while_up, &[("matters", &matters)]),
    }
}

fn whom(alert: &Alert, reader: &Reader) -> String {
    let subject = alert.subject.to_string();
    let on = alert.on.as_ref();
    let on = on.map(|animal| say(reader.phrases().on_animal, &[("animal", animal)]));
    let short = ["dam ", "device "].iter().find_map(|word| subject.strip_prefix(word));
    format!("{}{}", short.unwrap_or(&subject), on.unwrap_or_default())
}

/// As many of the worst as fit whole, each with its code.
fn sms(config: &Config, open: &[&Alert], why: Why, reader: &Reader) -> String {
    let said = reader.phrases();
    let latest = open.iter().max_by_key(|alert| alert.late);
    let late = latest.and_then(|alert| head::late(alert, said.late_text, reader));
    let begin = reader.fold(&format!("{}.{} ", begin(open, why, reader), late.unwrap_or_default()));
    let end = reader.fold(said.end_of_several);
    let more_of = |left: usize| say(said.more, &[("n", &left)]);
    let mut named: Vec<String> = Vec::new();
    for alert in open.iter().take(WORST) {
        let name = rule_name(config, alert.rule.as_str(), reader);
        let one = head::head_with(config, alert, &name, reader);
        let left = open.len() - named.len() - 1;
        let more =
            if left == 0 { String::new() } else { reader.fold(&format!("; {}.", more_of(left))) };
        let so_far: usize = named.iter().map(|one| letters(one) + 2).sum();
        let used = letters(&begin) + so_far + letters(&one) + letters(&more) + letters(&end);
        if used > SMS_MAX {
            break;
        }
        named.push(one);
    }
    let left = open.len() - named.len();
    let more = match (left, named.is_empty()) {
        (0, _) => ".".to_owned(),
        (_, true) => format!("{}.", more_of(left)),
        (_, false) => format!("; {}.", more_of(left)),
    };
    format!("{begin}{}{}{end}", named.join("; "), reader.fold(&more))
}
