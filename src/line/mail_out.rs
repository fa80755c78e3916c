//! A mail as it leaves: headers of our own, a plain body, and no way in for anybody's line break.
//!
//! It does not send. The same message gives the same bytes on every try, because nothing in it asks
//! the clock, the machine's name or chance.

use std::time::{Duration, SystemTime};

use lettre::Address;
use lettre::message::header::{
    ContentTransferEncoding, ContentType, HeaderName, HeaderValue, MIME_VERSION_1_0,
};
use lettre::message::{Attachment, Body, Mailbox, MessageBuilder, MultiPart, SinglePart};

use super::picture::Picture;
use crate::alarm::message::{Message, MessageKind};
use crate::config::lines::Smtp;

/// A subject longer than this is not read at night; RFC 5322's 998 is far off.
const SUBJECT_CAP: usize = 200;

/// No text of ours is near this; a mail server's limit is far above.
const TEXT_CAP: usize = 256 * 1024;

/// RFC 2046 section 5.1.1: a boundary has at most 70 characters.
const BOUNDARY_CAP: usize = 70;

/// An id of a stranger's mail that is longer is not worth repeating (one line takes 998).
const FOREIGN_ID_CAP: usize = 900;

/// The last second that a mail's Date can show: the end of the year 9999.
const LAST_DATE: u64 = 253_402_300_799;

/// What a mail says and carries where that is not known before it leaves.
#[derive(Clone, Debug)]
pub struct Enclosed {
    pub text: String,
    pub picture: Option<Named>,
}

/// A picture under the name that it is saved by.
#[derive(Clone, Debug)]
pub struct Named {
    pub name: String,
    pub picture: Picture,
}

/// The mail for `message`, or why there can be none.
pub fn compose(line: &Smtp, message: &Message) -> Result<lettre::Message, String> {
    compose_with(line, message, &Enclosed { text: message.text.clone(), picture: None })
}

/// The mail for `message` with a text and a picture of its own. The same of both give the same bytes.
pub fn compose_with(
    line: &Smtp,
    message: &Message,
    enclosed: &Enclosed,
) -> Result<lettre::Message, String> {
    let text = body(&enclosed.text)?;
    let mail = head(line, message, enclosed)?;
    let mail = match &enclosed.picture {
        None => mail.body(text),
        Some(named) => mail.multipart(parts(&message.id, text, named)?),
    };
    mail.map_err(|fault| format!("the mail cannot be put together: {fault}"))
}

/// The text first, so that it is read where the picture is not yet, or cannot be, shown.
fn parts(id: &str, text: Body, named: &Named) -> Result<MultiPart, String> {
    let bytes = named.picture.bytes.to_vec();
    let bytes = Body::new_with_encoding(bytes, ContentTransferEncoding::Base64)
        .map_err(|_| "the picture cannot be written as base64".to_owned())?;
    let form = ContentType::parse(named.picture.form.mime())
        .map_err(|_| "the picture's type cannot be named".to_owned())?;
    // Neither quoted-printable nor base64 can have "=_" in it (RFC 2046 section 5.1.1), and it is the
    // same on every try.
    let boundary: String = format!("=_{id}").chars().take(BOUNDARY_CAP).collect();
    Ok(MultiPart::mixed()
        .boundary(boundary)
        .singlepart(SinglePart::builder().header(ContentType::TEXT_PLAIN).body(text))
        .singlepart(Attachment::new(named.name.clone()).body(bytes, form)))
}

/// Everything above the text.
fn head(line: &Smtp, message: &Message, enclosed: &Enclosed) -> Result<MessageBuilder, String> {
    let from = mailbox(&line.from, "from")?;
    let to = address(&message.address).map_err(|why| {
        format!("the mail address of {} {why}; correct it in the settings", message.to)
    })?;
    if !is_dot_atom(&message.id) {
        return Err(format!("{:?} cannot be part of a Message-ID", message.id));
    }
    if enclosed.text.len() > TEXT_CAP {
        return Err(format!("the text is longer than {TEXT_CAP} bytes"));
    }
    let id = format!("<{}@{}>", message.id, from.email.domain());
    let mut mail = lettre::Message::builder()
        .date(date(message))
        .from(from)
        .to(Mailbox::new(None, to))
        .raw_header(verbatim("Message-ID", id))
        .subject(subject(&message.subject))
        .raw_header(verbatim("Auto-Submitted", auto_submitted(&message.kind).to_owned()));
    if enclosed.picture.is_none() {
        mail = mail.header(MIME_VERSION_1_0).header(ContentType::TEXT_PLAIN);
    }
    if let Some(reply_to) = &line.reply_to {
        mail = mail.reply_to(mailbox(reply_to, "reply-to")?);
    }
    if let Some(parent) = message.in_reply_to.as_deref().and_then(foreign_id) {
        mail = mail
            .raw_header(verbatim("In-Reply-To", parent.clone()))
            .raw_header(verbatim("References", parent));
    }
    Ok(mail)
}

/// RFC 3834 section 5: an alarm is our own doing, an answer is brought about by a mail.
fn auto_submitted(kind: &MessageKind) -> &'static str {
    match kind {
        MessageKind::Alert
        | MessageKind::Taken
        | MessageKind::Over
        | MessageKind::Welcome
        | MessageKind::Page { .. }
        | MessageKind::Picture { .. } => "auto-generated",
        MessageKind::Answer => "auto-replied",
    }
}

/// Quoted-printable, so that a server without 8BITMIME takes it and no line is too long. Line
/// breaks at the end are left to SMTP, which ends every mail with one.
fn body(text: &str) -> Result<Body, String> {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let text = text.trim_end_matches('\n').to_owned();
    Body::new_with_encoding(text, ContentTransferEncoding::QuotedPrintable)
        .map_err(|_| "the text cannot be written as quoted-printable".to_owned())
}

fn date(message: &Message) -> SystemTime {
    let seconds = u64::try_from(message.made.seconds()).unwrap_or(0);
    SystemTime::UNIX_EPOCH + Duration::from_secs(seconds.min(LAST_DATE))
}

/// A subject on one line: a line break in it would begin a header of its own.
fn subject(text: &str) -> String {
    let line: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c.is_control())
        .filter(|word| !word.is_empty())
        .collect();
    line.join(" ").chars().take(SUBJECT_CAP).collect()
}

/// Only for values already known to be printable ASCII on one line.
fn verbatim(name: &'static str, value: String) -> HeaderValue {
    let name = HeaderName::new_from_ascii_str(name);
    HeaderValue::dangerous_new_pre_encoded(name, value.clone(), value)
}

fn mailbox(text: &str, key: &str) -> Result<Mailbox, String> {
    let wrong = |why: &str| {
        format!("the {key} of the mail line {why}; write it like lowbell@hollowbank.example")
    };
    plain(text).map_err(wrong)?;
    let mailbox: Mailbox = text.parse().map_err(|_| wrong("is not a mail address"))?;
    address(mailbox.email.as_ref()).map_err(wrong)?;
    Ok(mailbox)
}

fn address(text: &str) -> Result<Address, &'static str> {
    plain(text)?;
    text.parse().map_err(|_| "is not a mail address")
}

/// A control character would end the header or the command; a letter beyond ASCII needs a server
/// that knows SMTPUTF8 (a domain can be written in its xn-- form instead).
fn plain(text: &str) -> Result<(), &'static str> {
    if text.chars().any(char::is_control) {
        Err("has a line break or control character in it")
    } else if text.is_ascii() {
        Ok(())
    } else {
        Err("has letters that not every mail server takes (a domain has an xn-- form)")
    }
}

/// RFC 5322 section 3.2.3, dot-atom.
fn is_dot_atom(text: &str) -> bool {
    text.split('.').all(|atom| {
        !atom.is_empty()
            && atom
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b"!#$%&'*+-/=?^_`{|}~".contains(&b))
    })
}

/// The id of the mail that is answered, in brackets; `None` for one that cannot be repeated
/// safely: an answer without a thread is better than no answer.
fn foreign_id(id: &str) -> Option<String> {
    let id = id.trim().trim_start_matches('<').trim_end_matches('>');
    let safe = !id.is_empty()
        && id.len() <= FOREIGN_ID_CAP
        && id.bytes().all(|b| b.is_ascii_graphic() && b != b'<' && b != b'>');
    safe.then(|| format!("<{id}>"))
}
