//! Did a person write this mail, or a machine in a person's name?
//!
//! It looks at header fields only. A "person" here still has to say a word we understand, and the
//! sender still has to be somebody of the farm: both are judged elsewhere.

use super::letter::MailProof;

/// Whose hand a mail shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Nothing speaks against a person.
    Person,
    Machine {
        why: &'static str,
    },
    /// A mail server tells what became of one of our own mails.
    Report(DeliveryReport),
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeliveryReport {
    pub fate: Fate,
    pub recipient: String,
    /// The Message-ID of our mail, if the report carries it, without brackets.
    pub about: Option<String>,
    pub status: String,
}

impl DeliveryReport {
    /// The mail will not arrive: this way to this person is shut.
    pub fn failed(&self) -> bool {
        self.fate == Fate::Failed
    }
}

/// The actions of a delivery report (RFC 3464 section 2.3.3). None of them means "read".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    Failed,
    /// Still being tried.
    Delayed,
    Delivered,
    /// Handed to a server that makes no reports: no proof of anything.
    Relayed,
    /// Handed on to more than one address: no proof of anything.
    Expanded,
    /// The report does not say, or in no word that we know.
    Unclear,
}

/// The order matters: a delivery report also has a null path and says that it is automatic, and it
/// is the only automatic mail that tells us something.
pub fn judge(mail: &MailProof) -> Hand {
    let kind = bare(&mail.content_type);
    if mail.report.is_some() || is_delivery_status(&mail.content_type, &kind) {
        return Hand::Report(delivery_report(mail));
    }
    match machine(mail, &kind) {
        Some(why) => Hand::Machine { why },
        None => Hand::Person,
    }
}

fn machine(mail: &MailProof, kind: &str) -> Option<&'static str> {
    let automatic = match mail.auto_submitted.as_slice() {
        [] => None,
        [one] if bare(one) == "no" => None,
        [_] => Some("the mail says that it was sent automatically"),
        // RFC 3834 section 5: at most one such field.
        [..] => Some("the mail says more than once how it was sent"),
    };
    if automatic.is_some() {
        return automatic;
    }
    if kind == "multipart/report" {
        return Some("the mail is a report, such as \"displayed\", which is not an answer");
    }
    if kind.starts_with("message/disposition-notification") {
        return Some("the mail says that ours was displayed, which is not an answer");
    }
    if mail.return_path.as_deref().is_some_and(is_null_path) {
        return Some("the mail has a null return path, as machines' mails have");
    }
    if mail.list_id {
        return Some("the mail came over a mailing list");
    }
    let precedence = mail.precedence.as_deref().map(bare);
    match precedence.as_deref() {
        Some("bulk" | "list" | "junk") => Some("the mail calls itself bulk mail"),
        Some(_) | None => None,
    }
}

fn is_delivery_status(content_type: &str, kind: &str) -> bool {
    kind == "multipart/report"
        && without_comments(content_type)
            .to_lowercase()
            .split(';')
            .skip(1)
            .filter_map(|parameter| parameter.split_once('='))
            .any(|(name, value)| {
                name.trim() == "report-type"
                    && value.trim().trim_matches('"').trim() == "delivery-status"
            })
}

fn delivery_report(mail: &MailProof) -> DeliveryReport {
    let report = mail.report.clone().unwrap_or_default();
    let fate = match bare(&report.action).as_str() {
        "failed" => Fate::Failed,
        "delayed" => Fate::Delayed,
        "delivered" => Fate::Delivered,
        "relayed" => Fate::Relayed,
        "expanded" => Fate::Expanded,
        _ => Fate::Unclear,
    };
    DeliveryReport { fate, recipient: report.recipient, about: report.about, status: report.status }
}

fn is_null_path(path: &str) -> bool {
    let path = without_comments(path);
    let inner: String = path.chars().filter(|c| !c.is_whitespace()).collect();
    inner == "<>" || inner.is_empty()
}

/// A field's value without comments and parameters, lower case.
fn bare(value: &str) -> String {
    let plain = without_comments(value);
    let before = plain.split(';').next().unwrap_or_default();
    before.trim().to_lowercase()
}

/// RFC 5322 section 3.2.2: comments stand in parentheses, may nest, and may escape a character.
fn without_comments(value: &str) -> String {
    let mut plain = String::with_capacity(value.len());
    let mut depth = 0_usize;
    let mut quoted = false;
    let mut escaped = false;
    for letter in value.chars() {
        if escaped {
            escaped = false;
            if depth == 0 {
                plain.push(letter);
            }
            continue;
        }
        match letter {
            '\\' if depth > 0 || quoted => escaped = true,
            '"' if depth == 0 => {
                quoted = !quoted;
                plain.push(letter);
            }
            '(' if !quoted => depth += 1,
            ')' if !quoted => depth = depth.saturating_sub(1),
            other if depth == 0 => plain.push(other),
            _ => {}
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::super::letter::Report;
    use super::*;

    fn auto(values: &[&str]) -> MailProof {
        MailProof {
            auto_submitted: values.iter().map(|&value| value.to_owned()).collect(),
            content_type: "text/plain; charset=utf-8".into(),
            ..MailProof::default()
        }
    }

    fn is_machine(mail: &MailProof) -> bool {
        match judge(mail) {
            Hand::Machine { .. } => true,
            Hand::Person | Hand::Report(_) => false,
        }
    }

    fn status_mail(action: &str) -> MailProof {
        MailProof {
            // RFC 3464 section 2: reports come with a null path.
            return_path: Some("<>".into()),
            content_type: "multipart/report; report-type=delivery-status; boundary=\"x\"".into(),
            report: Some(Report {
                action: action.into(),
                recipient: "ana@hollowbank.example".into(),
                about: Some("lowbell.00000000000000aa.7@hollowbank.example".into()),
                status: "5.1.1".into(),
            }),
            ..auto(&["auto-replied"])
        }
    }

    fn fate(mail: &MailProof) -> Option<Fate> {
        match judge(mail) {
            Hand::Report(report) => Some(report.fate),
            Hand::Person | Hand::Machine { .. } => None,
        }
    }

    #[test]
    fn auto_submitted_other_than_one_plain_no_is_a_machine() {
        // RFC 3834 section 5, vectors AV-01 to AV-07.
        for (id, values, machine) in [
            ("none at all", &[][..], false),
            ("AV-01", &["no"], false),
            ("AV-01 in capitals", &["No"], false),
            ("AV-01 with comment and parameter", &["(truly) no (a (b) c); x=1"], false),
            ("AV-02", &["auto-replied"], true),
            ("AV-03", &["auto-generated"], true),
            ("AV-04", &["AUTO-REPLIED; x-owner=\"a@b.example\""], true),
            ("AV-05", &["auto-replied (on holiday)"], true),
            ("AV-05 with the comment before", &["(no) auto-replied"], true),
            ("AV-06", &["x-anything"], true),
            ("AV-07", &["no", "auto-replied"], true),
            ("AV-07 with two that say no", &["no", "no"], true),
            ("empty", &[""], true),
        ] {
            assert_eq!(is_machine(&auto(values)), machine, "{id}");
        }
    }

    #[test]
    fn a_null_return_path_is_a_machine() {
        // RFC 3834 section 2, vector AV-08.
        for (path, machine) in [("<>", true), (" < > ", true), ("<ana@hollowbank.example>", false)]
        {
            let mail = MailProof { return_path: Some(path.into()), ..auto(&[]) };
            assert_eq!(is_machine(&mail), machine, "{path}");
        }
    }

    #[test]
    fn a_delivery_report_says_what_became_of_our_mail_and_is_nobodys_answer() {
        // RFC 3464 section 2.3.3, vectors AV-09 (failed), AV-10 (delayed), AV-11 (delivered), EM-24.
        for (action, expected) in [
            ("failed", Fate::Failed),
            ("delayed", Fate::Delayed),
            ("delivered", Fate::Delivered),
            ("relayed", Fate::Relayed),
            ("expanded", Fate::Expanded),
            ("", Fate::Unclear),
        ] {
            let mail = status_mail(action);
            assert_eq!(fate(&mail), Some(expected), "{action}");
            let Hand::Report(report) = judge(&mail) else {
                panic!("{action} is not a report");
            };
            assert_eq!(report.failed(), action == "failed");
            assert_eq!(report.recipient, "ana@hollowbank.example");
        }
        let bodiless = MailProof {
            report: None,
            content_type: "Multipart/Report;\r\n report-type=\"delivery-status\"".into(),
            ..auto(&[])
        };
        assert_eq!(fate(&bodiless), Some(Fate::Unclear));
    }

    #[test]
    fn displayed_and_every_other_report_is_a_machine() {
        // RFC 8098 section 3, vector AV-12.
        for kind in [
            "multipart/report; report-type=disposition-notification",
            "multipart/report; report-type=feedback-report",
            "multipart/report",
            "message/disposition-notification",
        ] {
            let mail = MailProof { content_type: kind.into(), ..auto(&[]) };
            assert!(is_machine(&mail), "{kind}");
        }
    }

    #[test]
    fn bulk_and_list_mail_is_a_machine() {
        // RFC 3834 section 3.1.8 and RFC 2919, vector AV-13.
        for (precedence, list_id, machine) in [
            (Some("bulk"), false, true),
            (Some(" Junk "), false, true),
            (Some("LIST"), false, true),
            (Some("first-class"), false, false),
            (None, true, true),
            (None, false, false),
        ] {
            let mail =
                MailProof { precedence: precedence.map(str::to_owned), list_id, ..auto(&[]) };
            assert_eq!(is_machine(&mail), machine, "{precedence:?} {list_id}");
        }
    }

    #[test]
    fn a_subject_that_begins_with_auto_proves_nothing() {
        // RFC 3834 section 3.1.5, vector AV-14: undecided here; such a mail still has to say a word.
        let mail = MailProof { subject: "Auto: Re: Cow 4012".into(), ..auto(&[]) };
        assert_eq!(judge(&mail), Hand::Person);
    }

    // AV-15 and AV-17 stand in `thread` and in tests/it/replies.rs. AV-16 (the sender is nobody of
    // the farm) cannot be told from a header: the watch, which knows the people, tests it.
}
