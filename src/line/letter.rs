//! A mail's bytes become a `Reply`: who it says it is from, what it says, and the header fields that
//! `talk` needs to tell a person from a machine.
//!
//! It judges nothing: an automatic answer, a forged sender and a delivery report are all read alike.
//! Whatever the bytes are, it comes back with something or with `None`, soon, and in bounded memory.

mod flat;
mod html;
mod report;

use mail_parser::{Header, HeaderName, HeaderValue, Message, MessageParser, PartType};

use crate::plain::ids::LineName;
use crate::talk::letter::{MailPlace, MailProof, Reply, Sender};

/// As much text as a person's answer can need; the rest is quotation or a mistake.
pub const TEXT_CAP: usize = 16 * 1024;

/// A header field's value is kept to the longest line that RFC 5322 section 2.1.1 allows.
const FIELD_CAP: usize = 998;

/// A thread of a whole season; the first ids and the last are kept.
const IDS_CAP: usize = 100;

/// RFC 3834 section 5.2 allows one such field; a few more show that the rule was broken.
const REPEATS_CAP: usize = 8;

/// Reads a mail, or the beginning of one that was `cut`. `None` if there is no header field in it.
pub fn read(raw: &[u8], line: &LineName, place: Option<MailPlace>, cut: bool) -> Option<Reply> {
    let heads = MessageParser::default().parse_headers(raw)?;
    let flat = flat::flatten(raw);
    let whole = MessageParser::default().parse(&flat);
    let (text, too_long) = capped(whole.as_ref().map(text_of).unwrap_or_default(), TEXT_CAP);
    let fields = Fields { heads: &heads, raw };
    Some(Reply {
        line: line.clone(),
        from: Sender::Mail(sender(&heads)),
        text,
        mail: Some(Box::new(MailProof {
            message_id: fields.ids(&HeaderName::MessageId).into_iter().next(),
            subject: subject(&heads),
            in_reply_to: fields.ids(&HeaderName::InReplyTo),
            references: fields.ids(&HeaderName::References),
            auto_submitted: fields.all(&HeaderName::AutoSubmitted).take(REPEATS_CAP).collect(),
            return_path: fields.all(&HeaderName::ReturnPath).next(),
            content_type: fields
                .all(&HeaderName::ContentType)
                .last()
                .unwrap_or_default()
                .to_lowercase(),
            precedence: fields.named("precedence"),
            list_id: fields.all(&HeaderName::ListId).next().is_some(),
            report: whole.as_ref().and_then(report::read),
            place,
            cut: cut || too_long,
        })),
        asked: None,
    })
}

/// Stands for a mail that cannot be read: nobody's words, but its place is known, so that it is
/// passed once and not met again.
pub fn unreadable(line: &LineName, place: Option<MailPlace>) -> Reply {
    Reply {
        line: line.clone(),
        from: Sender::Mail(String::new()),
        text: String::new(),
        mail: Some(Box::new(MailProof { place, cut: true, ..MailProof::default() })),
        asked: None,
    }
}

/// The header fields as they were written.
struct Fields<'m> {
    heads: &'m Message<'m>,
    raw: &'m [u8],
}

impl<'m> Fields<'m> {
    fn all<'a>(&'a self, name: &'a HeaderName<'a>) -> impl Iterator<Item = String> + 'a {
        self.heads
            .headers()
            .iter()
            .filter(move |field| field.name == *name)
            .map(|field| self.value(field))
    }

    fn named(&self, name: &str) -> Option<String> {
        self.heads
            .headers()
            .iter()
            .find(|field| field.name.as_str().eq_ignore_ascii_case(name))
            .map(|field| self.value(field))
    }

    /// Unfolded (RFC 5322 section 2.2.3), without the spaces around it.
    fn value(&self, field: &Header<'_>) -> String {
        capped(self.unfolded(field), FIELD_CAP).0
    }

    fn unfolded(&self, field: &Header<'_>) -> String {
        let bytes = self
            .raw
            .get(field.offset_start as usize..field.offset_end as usize)
            .unwrap_or_default();
        let mut text = String::from_utf8_lossy(bytes).into_owned();
        text.retain(|c| c != '\r' && c != '\n');
        text.trim().to_owned()
    }

    /// The ids in every field of that name, without brackets and without the middle of a long list.
    fn ids(&self, name: &HeaderName<'_>) -> Vec<String> {
        let mut ids: Vec<String> = self
            .heads
            .headers()
            .iter()
            .filter(|field| field.name == *name)
            .flat_map(|field| ids(&self.unfolded(field)))
            .collect();
        if ids.len() > IDS_CAP {
            let last = ids.split_off(ids.len() - IDS_CAP / 2);
            ids.truncate(IDS_CAP - last.len());
            ids.extend(last);
        }
        ids
    }
}

/// The Message-IDs in a header field's value. Some mail programs leave the brackets out.
fn ids(value: &str) -> Vec<String> {
    let clean = |id: &str| {
        let id: String = id.chars().filter(|c| !c.is_whitespace()).collect();
        capped(id, FIELD_CAP).0
    };
    let ids: Vec<String> = if value.contains('<') {
        value
            .split('<')
            .skip(1)
            .filter_map(|rest| rest.split_once('>'))
            .map(|(id, _)| clean(id))
            .collect()
    } else {
        value.split_whitespace().map(clean).collect()
    };
    ids.into_iter().filter(|id| !id.is_empty()).collect()
}

/// The address of the From field, its domain in lower case. Two From fields are against RFC 5322
/// section 3.6, and programs differ in which they believe: such a mail is from nobody.
fn sender(heads: &Message<'_>) -> String {
    let mut from = heads.header_values(HeaderName::From);
    let (Some(HeaderValue::Address(address)), None) = (from.next(), from.next()) else {
        return String::new();
    };
    let address =
        address.first().and_then(|first| first.address.as_deref()).unwrap_or_default().trim();
    let address = match address.rsplit_once('@') {
        Some((name, domain)) => format!("{name}@{}", domain.to_lowercase()),
        None => address.to_owned(),
    };
    capped(address, FIELD_CAP).0
}

fn subject(heads: &Message<'_>) -> String {
    let subject = heads.subject().unwrap_or_default().replace(char::is_control, " ");
    capped(subject.trim().to_owned(), FIELD_CAP).0
}

/// What the mail says: its plain text, or the text of its HTML where there is no plain text.
fn text_of(mail: &Message<'_>) -> String {
    let mut plain = String::new();
    for part in mail.text_bodies() {
        let text = match &part.body {
            PartType::Text(text) => text.as_ref().to_owned(),
            PartType::Html(text) => html::text_of(text),
            PartType::Binary(_)
            | PartType::InlineBinary(_)
            | PartType::Message(_)
            | PartType::Multipart(_) => continue,
        };
        if !plain.is_empty() && !plain.ends_with('\n') {
            plain.push('\n');
        }
        plain.push_str(&text);
    }
    if plain.trim().is_empty() {
        let html = mail.html_bodies().find_map(|part| match &part.body {
            PartType::Html(text) => Some(html::text_of(text)),
            PartType::Text(_)
            | PartType::Binary(_)
            | PartType::InlineBinary(_)
            | PartType::Message(_)
            | PartType::Multipart(_) => None,
        });
        plain = html.unwrap_or(plain);
    }
    plain.replace("\r\n", "\n")
}

/// Cuts at the last character that fits; says whether it had to.
fn capped(mut text: String, cap: usize) -> (String, bool) {
    let long = text.len() > cap;
    text.truncate(text.floor_char_boundary(cap));
    (text, long)
}

#[cfg(test)]
mod tests {
    use base64::Engine as _;
    use proptest::prelude::*;

    use super::*;
    use crate::talk::letter::Report;

    const OURS: &str = "lowbell.9f3a.12@hollowbank.example";

    #[test]
    fn the_sender_is_the_address_and_not_the_name_beside_it() {
        let from = |field: &str| {
            let mail = format!("{field}\n\nin\n");
            match parse(mail.as_bytes()).from {
                Sender::Mail(address) => address,
                other @ (Sender::Mobile(_) | Sender::Name(_)) => panic!("{other:?}"),
            }
        };
        assert_eq!(from("From: Ana@Hollowbank.EXAMPLE"), "Ana@hollowbank.example");
        assert_eq!(
            from("From: \"ana@hollowbank.example\" <stranger@elsewhere.example>"),
            "stranger@elsewhere.example"
        );
        assert_eq!(
            from("From: ana@hollowbank.example <stranger@elsewhere.example>"),
            "stranger@elsewhere.example"
        );
        assert_eq!(
            from("From: ana@hollowbank.example\nFrom: stranger@elsewhere.example"),
            "",
            "nobody can tell which of two it is"
        );
        assert_eq!(from("Subject: from nobody"), "");
    }

    // RFC 3834 section 5 (vectors AV-01..08): the fields as written; judging them is not done here.
    #[test]
    fn every_auto_submitted_field_is_kept_as_written() {
        for (name, fields) in [
            ("av-01", &["no"] as &[&str]),
            ("av-02", &["auto-replied"]),
            ("av-03", &["auto-generated"]),
            ("av-04", &["AUTO-REPLIED; x-owner=\"a@b.example\""]),
            ("av-05", &["auto-replied (on holiday)"]),
            ("av-06", &["x-anything"]),
            ("av-07", &["no", "auto-replied"]),
            ("av-08", &[]),
        ] {
            assert_eq!(proof(name).auto_submitted, fields, "{name}");
        }
        assert_eq!(proof("av-08").return_path.as_deref(), Some("<>"));
        assert_eq!(proof("av-01").return_path.as_deref(), Some("<ana@hollowbank.example>"));
    }

    // RFC 3464 sections 2.2 and 2.3 (vectors AV-09..11).
    #[test]
    fn a_delivery_report_says_whose_mail_and_what_became_of_it() {
        for (name, action, status) in [
            ("av-09", "failed", "5.1.1"),
            ("av-10", "delayed", "4.4.1"),
            ("av-11", "delivered", "2.0.0"),
        ] {
            let proof = proof(name);
            assert_eq!(
                proof.report,
                Some(Report {
                    action: action.to_owned(),
                    recipient: "Tom@hollowbank.example".to_owned(),
                    about: Some(OURS.to_owned()),
                    status: status.to_owned(),
                }),
                "{name}"
            );
            assert_eq!(
                proof.content_type,
                "multipart/report; report-type=delivery-status;\tboundary=\"edge/of/message\""
            );
        }
    }

    #[test]
    fn of_several_recipients_the_failed_one_is_reported() {
        let mail = "From: mailer-daemon@hollowbank.example\n\
            Content-Type: multipart/report; boundary=e\n\n\
            --e\nContent-Type: message/delivery-status\n\nReporting-MTA: dns; x\n\n\
            Final-Recipient: rfc822; ana@hollowbank.example\nAction: delivered\nStatus: 2.0.0\n\n\
            Final-Recipient: rfc822; tom@hollowbank.example\nAction: failed\nStatus: 5.2.2\n\n--e--\n";
        assert_eq!(
            parse(mail.as_bytes()).mail.unwrap().report,
            Some(Report {
                action: "failed".to_owned(),
                recipient: "tom@hollowbank.example".to_owned(),
                about: None,
                status: "5.2.2".to_owned(),
            })
        );
    }

    // RFC 8098 (vector AV-12): a receipt for display is no report on delivery; its type says so.
    #[test]
    fn a_receipt_for_display_is_no_delivery_report() {
        let proof = proof("av-12");
        assert_eq!(proof.report, None);
        assert_eq!(
            proof.content_type,
            "multipart/report; report-type=\"disposition-notification\"; boundary=edge"
        );
    }

    // RFC 2919 and RFC 5322 section 3.6.4 (vectors AV-13..17).
    #[test]
    fn what_a_mail_answers_and_where_it_comes_from_is_kept() {
        let list = proof("av-13");
        assert_eq!(list.precedence.as_deref(), Some("bulk"));
        assert!(list.list_id && !proof("av-14").list_id);
        assert_eq!(proof("av-14").subject, "Auto: Re: Cow 4012");
        let references = proof("av-15");
        assert!(references.in_reply_to.is_empty());
        assert_eq!(references.references, ["a.1@phone.hollowbank.example", OURS]);
        assert_eq!(proof("av-16").in_reply_to, [OURS]);
        assert_eq!(letter("av-16").from, Sender::Mail("stranger@elsewhere.example".to_owned()));
        assert_eq!(letter("av-17").text, "What is this?\n\n> ACK 7Q2F\n");
        assert_eq!(proof("style-no-brackets").in_reply_to, [OURS]);
        assert_eq!(proof("av-01").message_id.as_deref(), Some("av-01@phone.hollowbank.example"));
    }

    #[test]
    fn answers_read_alike_whatever_program_wrote_them() {
        for (name, text) in [
            ("style-base64", "Going – 10 minutes\n\n> 7Q2F\n"),
            (
                "style-quoted-printable",
                "Going, she’s at the far gate\n\nEl 25 nov 2026 escribió:\n> 7Q2F\n",
            ),
            ("style-latin-1", "going, sé\n"),
            (
                "style-html-only",
                "going\nOn Wed, 25 Nov 2026, 03:15 lowbell@hollowbank.example wrote:\n\
                 > 114 in the calving pen: second stage too long. Answer 7Q2F\n",
            ),
            (
                "style-both",
                "going\n\nOn Wed, 25 Nov 2026, 03:15 lowbell@hollowbank.example wrote:\n\
                 > 114 Answer 7Q2F\n",
            ),
            (
                "style-empty-plain",
                "going\nOn Wed, 25 Nov 2026, 03:15 lowbell@hollowbank.example wrote:\n\
                 > 114 in the calving pen: second stage too long. Answer 7Q2F\n",
            ),
            ("style-picture", "feet\nSent from the yard"),
            (
                "style-flowed",
                "going, but the lane is under water so it will be \nten minutes\n\n\
                 > 114 Answer 7Q2F\n>> older\n",
            ),
            (
                "style-below-quote",
                "> 114 in the calving pen: second stage too long. Answer 7Q2F\n\nfeet 0210\n\n\
                 -- \nAna, Hollow Bank\n",
            ),
        ] {
            assert_eq!(letter(name).text, text, "{name}");
        }
        let accents = letter("style-latin-1");
        assert_eq!(accents.from, Sender::Mail("Ana@hollowbank.example".to_owned()));
        assert_eq!(accents.mail.unwrap().subject, "Re: 114 – 7Q2F");
    }

    #[test]
    fn line_ends_make_no_difference() {
        for (name, raw) in letters() {
            let text = String::from_utf8_lossy(&raw).replace('\n', "\r\n");
            let mut with_returns = parse(text.as_bytes());
            let mut without = parse(text.replace("\r\n", "\n").as_bytes());
            // Whether the last line end belongs to a part or to the boundary is not worth a fight.
            with_returns.text = with_returns.text.trim_end().to_owned();
            without.text = without.text.trim_end().to_owned();
            assert_eq!(with_returns, without, "{name}");
        }
    }

    #[test]
    fn a_long_text_is_cut_between_characters() {
        let mail = format!("From: ana@hollowbank.example\n\n{}", "é".repeat(TEXT_CAP));
        let letter = parse(mail.as_bytes());
        assert_eq!(letter.text.len(), TEXT_CAP);
        assert!(letter.mail.unwrap().cut);
        let odd = format!("From: ana@hollowbank.example\n\nx{}", "é".repeat(TEXT_CAP));
        assert_eq!(parse(odd.as_bytes()).text.len(), TEXT_CAP - 1);
        assert!(!proof("av-01").cut);
    }

    #[test]
    fn a_long_thread_keeps_its_first_ids_and_its_last() {
        let thread: String = (0..500).map(|n| format!(" <{n}@x>\n")).collect();
        let mail = format!("References:{thread}\n\n");
        let references = parse(mail.as_bytes()).mail.unwrap().references;
        assert_eq!(references.len(), IDS_CAP);
        assert_eq!(references[0], "0@x");
        assert_eq!(references[IDS_CAP - 1], "499@x");
    }

    // Unflattened, the last of these ends the whole process: the stack overflows.
    #[test]
    fn nothing_but_nesting_is_read_and_dropped() {
        let level = "Content-Type:message/rfc822\n\n";
        let nested = level.repeat(9000);
        let digest = "Content-Type:multipart/digest;boundary=a\n\n--a\n\n".repeat(5000);
        let coded = format!(
            "Content-Type: message/rfc822\nContent-Transfer-Encoding: base64\n\n{}\n",
            base64::engine::general_purpose::STANDARD.encode(&nested)
        );
        for mail in [nested, digest, coded] {
            assert!(parse(mail.as_bytes()).mail.unwrap().content_type.len() > 10);
        }
    }

    #[test]
    fn a_mail_cut_anywhere_is_read() {
        for (_, raw) in letters() {
            for end in 0..raw.len() {
                let cut = read(&raw[..end], &LineName::new("answers"), None, true);
                assert!(cut.is_none_or(|letter| letter.text.len() <= TEXT_CAP));
            }
        }
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(raw in prop::collection::vec(any::<u8>(), 0..2048)) {
            let _any = read(&raw, &LineName::new("answers"), None, false);
        }

        #[test]
        fn no_pieces_of_mail_make_it_panic(
            pieces in prop::collection::vec(prop::sample::select(PIECES), 0..60)
        ) {
            let _any = read(pieces.concat().as_bytes(), &LineName::new("answers"), None, false);
        }

        #[test]
        fn no_damage_makes_it_panic(which in 0..28_usize, damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..20)) {
            let letters = letters();
            let mut raw = letters[which % letters.len()].1.clone();
            for (at, byte) in damage {
                let at = at.index(raw.len());
                raw[at] = byte;
            }
            let _any = read(&raw, &LineName::new("answers"), None, false);
        }
    }

    const PIECES: &[&str] = &[
        "\n",
        "\r\n",
        "\r",
        " ",
        "\t",
        ":",
        ";",
        "--",
        "--e",
        "--e--",
        "\n--e\n",
        "\n--e--\n",
        "e",
        "From:",
        "From: ana@x\n",
        "Content-Type:",
        "Content-Type: text/plain\n",
        "Content-Type: text/html\n",
        "Content-Type: multipart/mixed; boundary=e\n",
        "Content-Type: multipart/report; boundary=\"e\"\n",
        "Content-Type: multipart/alternative; boundary=\n",
        "Content-Type: message/rfc822\n",
        "Content-Type: multipart/digest; boundary=e\n",
        "Content-Type: message/delivery-status\n",
        "Content-Transfer-Encoding: base64\n",
        "Content-Transfer-Encoding: quoted-printable\n",
        "Action: failed\n",
        "Message-ID: <",
        ">",
        "<",
        "<blockquote",
        "</blockquote>",
        "<div>",
        "<!--",
        "-->",
        "<style>",
        "&#x1F402;",
        "&",
        "=?utf-8?Q?=",
        "=?utf-8?B?",
        "?=",
        "=\n",
        "=C3",
        "(",
        ")",
        "\"",
        "\\",
        "charset=utf-7",
        "; charset=iso-2022-jp\n",
        "é",
        "\u{1F404}",
        "+AGE-",
        "Return-Path: <>\n",
        "References: <a@b> <c@d>\n",
        "\0",
        "R29pbmc=",
        "*0*=utf-8''%41",
        ",",
    ];

    fn parse(raw: &[u8]) -> Reply {
        read(raw, &LineName::new("answers"), None, false).unwrap()
    }

    fn letter(name: &str) -> Reply {
        let (_, raw) = letters().into_iter().find(|(n, _)| n == name).unwrap();
        parse(&raw)
    }

    fn proof(name: &str) -> MailProof {
        *letter(name).mail.unwrap()
    }

    /// Every mail in tests/letters, by name.
    fn letters() -> Vec<(String, Vec<u8>)> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/letters");
        let mut letters: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .map(|path| {
                let name = path.file_stem().unwrap().to_string_lossy().into_owned();
                (name, std::fs::read(&path).unwrap())
            })
            .collect();
        letters.sort();
        letters
    }
}
