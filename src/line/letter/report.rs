//! A delivery report (RFC 3464): what became of one of our own mails.
//!
//! It reports what is written; whether a failed mail is a failed person is for others to say.

use mail_parser::{HeaderName, Message, MessageParser, MessagePart, MimeHeaders};

use super::flat::INNER;
use super::{FIELD_CAP, Fields, capped};
use crate::talk::letter::Report;

/// One mail of ours has one recipient; a report on more is about somebody else's.
const GROUPS_CAP: usize = 50;

/// `None` if the mail is not a report on delivery. With several recipients, a failed one counts.
pub(super) fn read(mail: &Message<'_>) -> Option<Report> {
    let outer = mail.content_type()?;
    if outer.c_type != "multipart" || outer.c_subtype.as_deref() != Some("report") {
        return None;
    }
    let status =
        mail.parts.iter().find(|part| is(part, &["delivery-status", "global-delivery-status"]))?;
    let mut groups: Vec<Group> = groups(&String::from_utf8_lossy(status.contents()))
        .into_iter()
        .filter(|group| !group.action.is_empty())
        .collect();
    let worst = groups.iter().position(|group| group.action == "failed").unwrap_or(0);
    if groups.is_empty() {
        return None;
    }
    let group = groups.swap_remove(worst);
    Some(Report {
        action: group.action,
        recipient: if group.original.is_empty() { group.last } else { group.original },
        about: about(mail),
        status: group.status,
    })
}

/// The Message-ID of the mail that is reported on, out of what the report returns of it.
fn about(mail: &Message<'_>) -> Option<String> {
    mail.parts
        .iter()
        .filter(|part| is(part, &["rfc822", "rfc822-headers", "global", "global-headers"]))
        .find_map(|part| {
            let raw = part.contents();
            let heads = MessageParser::default().parse_headers(raw)?;
            Fields { heads: &heads, raw }.ids(&HeaderName::MessageId).into_iter().next()
        })
}

fn is(part: &MessagePart<'_>, subtypes: &[&str]) -> bool {
    part.content_type().is_some_and(|kind| {
        [INNER, "text"].contains(&kind.c_type.as_ref())
            && kind.c_subtype.as_deref().is_some_and(|subtype| subtypes.contains(&subtype))
    })
}

/// The fields about one recipient (RFC 3464 section 2.3).
#[derive(Default)]
struct Group {
    action: String,
    original: String,
    last: String,
    status: String,
}

/// Groups of fields stand apart by an empty line.
fn groups(text: &str) -> Vec<Group> {
    let mut groups = vec![Group::default()];
    let mut field = String::new();
    for line in text.lines().chain([""]) {
        if line.starts_with([' ', '\t']) && !line.trim().is_empty() {
            field.push_str(line);
            continue;
        }
        if let Some(group) = groups.last_mut() {
            take(group, &field);
        }
        field = line.to_owned();
        if line.trim().is_empty() && groups.len() < GROUPS_CAP {
            groups.push(Group::default());
        }
    }
    groups
}

fn take(group: &mut Group, field: &str) {
    let Some((name, value)) = field.split_once(':') else {
        return;
    };
    // "rfc822; tom@…": the kind of address is not part of it. A status may end in a comment.
    let address = || value.split_once(';').map_or(value, |(_, address)| address);
    let word = || value.split_whitespace().next().unwrap_or_default();
    let (slot, value) = match name.trim().to_ascii_lowercase().as_str() {
        "action" => (&mut group.action, word().to_lowercase()),
        "original-recipient" => (&mut group.original, address().trim().to_owned()),
        "final-recipient" => (&mut group.last, address().trim().to_owned()),
        "status" => (&mut group.status, word().to_owned()),
        _ => return,
    };
    *slot = capped(value, FIELD_CAP).0;
}
