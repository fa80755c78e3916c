//! Texts through any gateway that takes an HTTP request, described by the settings alone.
//!
//! One try of one text. It judges the gateway's answer by the settings' success test; it does not
//! try again, count, or choose words.

use std::borrow::Cow;
use std::fmt::Write;

use bytes::Bytes;
use reqwest::Method;
use reqwest::header::{CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue};

use super::Attempt;
use super::http::{self, Answer, Call};
use super::patience::Patience;
use super::quote::one_line;
use super::secret::Secret;
use super::target::Target;
use crate::alarm::message::Message;
use crate::config::lines::{Escape, SmsHttp};

/// Hands one text to the gateway. The gateway's own `Date` stands in for our clock where its
/// `Retry-After` is a date.
pub async fn send(line: &SmsHttp, secret: Option<&Secret>, message: &Message) -> Attempt {
    try_once(line, secret, message).await.unwrap_or_else(|attempt| attempt)
}

async fn try_once(
    line: &SmsHttp,
    secret: Option<&Secret>,
    message: &Message,
) -> Result<Attempt, Attempt> {
    let name = message.line.as_str();
    let call = Call {
        method: method(line, name)?,
        headers: headers(line, secret, name)?,
        body: Bytes::from(fill(line, message)),
    };
    let patience = Patience::of(line.timeout);
    let target =
        Target::find(&line.url, line.allow_private, &format!("line {name}"), &patience).await?;
    let answer = http::exchange(&target, call, patience).await?;
    Ok(judge(line, secret, answer).await)
}

/// The body for `message`: each of `{to}`, `{text}` and `{id}` replaced once, escaped. What is put
/// in is not looked at again, so a text may hold braces.
fn fill(line: &SmsHttp, message: &Message) -> String {
    let mut body = String::with_capacity(line.body.len() + message.text.len());
    let mut rest = line.body.as_str();
    while let Some(start) = rest.find('{') {
        body.push_str(&rest[..start]);
        rest = &rest[start..];
        let (placeholder, value) = if rest.starts_with("{to}") {
            ("{to}", message.address.as_str())
        } else if rest.starts_with("{text}") {
            ("{text}", message.text.as_str())
        } else if rest.starts_with("{id}") {
            ("{id}", message.id.as_str())
        } else {
            body.push('{');
            rest = &rest[1..];
            continue;
        };
        body.push_str(&escape(line.escape, value));
        rest = &rest[placeholder.len()..];
    }
    body.push_str(rest);
    body
}

fn escape(how: Escape, value: &str) -> Cow<'_, str> {
    match how {
        Escape::Json => Cow::Owned(json_escaped(value)),
        Escape::Form => Cow::Owned(form_escaped(value)),
        Escape::None => Cow::Borrowed(value),
    }
}

/// The inside of a JSON string (RFC 8259 section 7), without its quotes.
fn json_escaped(value: &str) -> String {
    let quoted = serde_json::Value::from(value).to_string();
    quoted
        .strip_prefix('"')
        .and_then(|inside| inside.strip_suffix('"'))
        .unwrap_or_default()
        .to_owned()
}

/// Everything but RFC 3986's unreserved characters as `%` and two digits, byte by byte in UTF-8.
fn form_escaped(value: &str) -> String {
    let mut escaped = String::with_capacity(value.len() * 3);
    for byte in value.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            escaped.push(char::from(byte));
        } else {
            write!(escaped, "%{byte:02X}").expect("a string takes any text");
        }
    }
    escaped
}

fn method(line: &SmsHttp, name: &str) -> Result<Method, Attempt> {
    Method::from_bytes(line.method.to_ascii_uppercase().as_bytes()).map_err(|_| Attempt::Never {
        why: format!(
            "the method {} of line {name} is none that HTTP knows; POST is usual",
            one_line(&line.method)
        ),
    })
}

fn headers(line: &SmsHttp, secret: Option<&Secret>, name: &str) -> Result<HeaderMap, Attempt> {
    let mut headers = HeaderMap::new();
    for (field, value) in &line.headers {
        let wrong = |what: &str| Attempt::Never {
            why: format!("the header {} of line {name} {what}", one_line(field)),
        };
        let field_name = HeaderName::from_bytes(field.as_bytes())
            .map_err(|_| wrong("has a name that HTTP does not allow"))?;
        let secretly = value.contains("{secret}");
        let value = match secret {
            Some(secret) => value.replace("{secret}", secret.expose()),
            None if secretly => {
                return Err(wrong("needs {secret}, but no secret was read; set secret-file"));
            }
            None => value.clone(),
        };
        let mut value = HeaderValue::from_str(&value)
            .map_err(|_| wrong("has a value with a line break or control character in it"))?;
        value.set_sensitive(secretly);
        headers.append(field_name, value);
    }
    if !headers.contains_key(CONTENT_TYPE) {
        let kind = match line.escape {
            Escape::Json => "application/json",
            Escape::Form => "application/x-www-form-urlencoded",
            Escape::None => "text/plain; charset=utf-8",
        };
        headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    }
    Ok(headers)
}

async fn judge(line: &SmsHttp, secret: Option<&Secret>, answer: Answer) -> Attempt {
    let status = answer.status();
    let host = answer.host().to_owned();
    let after = answer.retry_after(None);
    let accepted = if line.success.status.is_empty() {
        (200..300).contains(&status)
    } else {
        line.success.status.contains(&status)
    };
    if accepted && line.success.contains.is_none() {
        return Attempt::Taken;
    }
    let said = answer.read().await;
    if let (true, Some(sign)) = (accepted, &line.success.contains) {
        if said.text.contains(sign.as_str()) {
            return Attempt::Taken;
        }
        if let Some(broke) = said.broke {
            return Attempt::Unsure {
                why: format!("{host} answered {status}, but its answer broke off: {broke}"),
            };
        }
    }
    let words = quoted(&said.text, secret);
    let why = if accepted {
        format!("{host} answered {status} without the expected words: {words}")
    } else {
        format!("{host} answered {status}: {words}")
    };
    match status {
        // Too many at once, took too long to read us (RFC 9110 section 15.5.9), or its own fault.
        408 | 429 | 500.. => Attempt::Later { why, after },
        // It answered well but did not say the words. Many gateways report "busy" and "no credit"
        // in this way, both of which pass; a text that is given up too early wakes nobody.
        200..=299 => Attempt::Later { why, after: None },
        300..=399 => Attempt::Never {
            why: format!("{why} (it sends us elsewhere; put the final address into url)"),
        },
        _ => Attempt::Never { why },
    }
}

/// The gateway's words, without the secret should it repeat it.
fn quoted(text: &str, secret: Option<&Secret>) -> String {
    let words = match secret {
        Some(secret) => one_line(&text.replace(secret.expose(), "(secret)")),
        None => one_line(text),
    };
    if words.is_empty() { "(nothing more)".to_owned() } else { words }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::alarm::message::MessageKind;
    use crate::config::lines::SmsSuccess;
    use crate::plain::ids::{LineName, MessageNo, PersonName};
    use crate::plain::moment::{Moment, Span};

    #[test]
    fn what_is_put_into_the_body_cannot_break_out_of_it() {
        let text = "dam \"114\": {to} \\ feet\nnow, 39.5 °C & 5%+";
        let json = fill(
            &line(r#"{"to":"{to}","t":"{text}","n":"{id}","x":{"{":1}}"#, Escape::Json),
            &message(text),
        );
        let read: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(read["to"], "+353860000001");
        assert_eq!(read["t"], text);
        assert_eq!(read["n"], "lowbell.7.12");
        assert_eq!(
            fill(&line("to={to}&text={text}", Escape::Form), &message(text)),
            "to=%2B353860000001&text=dam%20%22114%22%3A%20%7Bto%7D%20%5C%20feet%0Anow%2C%2039.5\
             %20%C2%B0C%20%26%205%25%2B"
        );
        assert_eq!(
            fill(&line("{id} {to} {text} {other} {", Escape::None), &message("a {id}")),
            "lowbell.7.12 +353860000001 a {id} {other} {"
        );
    }

    #[test]
    fn only_unreserved_characters_stay_as_they_are() {
        // RFC 3986 section 2.3.
        let unreserved = "ABCXYZabcxyz019-._~";
        assert_eq!(form_escaped(unreserved), unreserved);
        assert_eq!(form_escaped("é"), "%C3%A9");
        assert_eq!(form_escaped("\0 /"), "%00%20%2F");
    }

    #[test]
    fn a_secret_stays_out_of_debug_output_and_of_quoted_answers() {
        let secret = Secret::new("bellwether");
        let mut line = line("", Escape::None);
        line.headers = vec![("Authorization".to_owned(), "Bearer {secret}".to_owned())];
        let headers = headers(&line, Some(&secret), "sms").unwrap();
        assert_eq!(headers["authorization"], "Bearer bellwether");
        assert!(!format!("{headers:?}").contains("bellwether"), "{headers:?}");
        assert_eq!(quoted("bad key\nbellwether", Some(&secret)), "bad key (secret)");
    }

    #[test]
    fn headers_that_cannot_be_sent_are_refused_by_name() {
        let secret = Secret::new("bell\nX-More: 1");
        let faults = [
            (
                ("Bad Name", "1"),
                None,
                "the header Bad Name of line sms has a name that HTTP does not allow",
            ),
            (
                ("X-Key", "{secret}"),
                None,
                "the header X-Key of line sms needs {secret}, but no secret was read; set secret-file",
            ),
            (
                ("X-Key", "{secret}"),
                Some(&secret),
                "the header X-Key of line sms has a value with a line break or control character in it",
            ),
        ];
        for ((name, value), secret, why) in faults {
            let mut line = line("", Escape::None);
            line.headers = vec![(name.to_owned(), value.to_owned())];
            let expected = Attempt::Never { why: why.to_owned() };
            assert_eq!(headers(&line, secret, "sms").unwrap_err(), expected);
        }
    }

    fn line(body: &str, escape: Escape) -> SmsHttp {
        SmsHttp {
            url: "http://127.0.0.1:9/".to_owned(),
            method: "POST".to_owned(),
            headers: Vec::new(),
            body: body.to_owned(),
            escape,
            secret_file: None,
            success: SmsSuccess { status: Vec::new(), contains: None },
            timeout: Span::seconds(5),
            allow_private: true,
            letters: Default::default(),
        }
    }

    fn message(text: &str) -> Message {
        Message {
            no: MessageNo(12),
            to: PersonName::new("Ana"),
            address: "+353860000001".to_owned(),
            line: LineName::new("sms"),
            alert: None,
            also: Vec::new(),
            kind: MessageKind::Alert,
            subject: String::new(),
            text: text.to_owned(),
            in_reply_to: None,
            id: "lowbell.7.12".to_owned(),
            made: Moment::from_seconds(1_795_572_300),
        }
    }
}
