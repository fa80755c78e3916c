//! Reads lines of the kinds sms-http and webhook: requests to somebody else's web server.

use super::address;
use super::faults::{Faults, Placed};
use super::lines::{Escape, Letters, SmsHttp, SmsSuccess, Way, Webhook};
use super::suggest;
use super::tree::Table;
use super::value::Value;
use crate::plain::moment::Span;

const TIMEOUT_MIN: Span = Span::seconds(1);
const TIMEOUT_MAX: Span = Span::minutes(2);

/// What may stand in braces in the body of a text gateway's request.
const IN_BODY: [&str; 3] = ["{to}", "{text}", "{id}"];

const HEADERS_MAX: usize = 50;

pub(super) fn sms_http(table: Table<'_>) -> Option<Way> {
    let faults = table.faults();
    let allow_private = is_private_allowed(&table);
    let url = url(&table, "https://sms.hollowbank.example/send", allow_private);
    let methods = [("POST", "POST"), ("PUT", "PUT"), ("PATCH", "PATCH")];
    let method = table.word("method", &methods).map_or("POST", |word| word.is);
    let secret_file = table.text("secret-file");
    let headers = headers(&table, secret_file.as_ref());
    let body = body(&table);
    let escapes = [("json", Escape::Json), ("form", Escape::Form), ("none", Escape::None)];
    let escape = table.word("escape", &escapes).map_or(Escape::Json, |word| word.is);
    let letters = [("gsm", Letters::Gsm), ("plain", Letters::Plain)];
    let letters = table.word("letters", &letters).map_or(Letters::Gsm, |word| word.is);
    let success = table
        .table("success")
        .map(success)
        .unwrap_or(SmsSuccess { status: Vec::new(), contains: None });
    if let Some(secret) = &secret_file
        && !headers.iter().any(|(_, value)| value.contains("{secret}"))
    {
        let help =
            "write {secret} where it belongs in headers: { Authorization = \"Bearer {secret}\" }";
        faults.warn(&secret.at, "no header uses this secret", help);
    }
    let timeout = table.span("timeout", Span::seconds(15), TIMEOUT_MIN..=TIMEOUT_MAX);
    table.done();
    Some(Way::SmsHttp(SmsHttp {
        url: url?,
        method: method.to_owned(),
        headers,
        body: body?,
        escape,
        letters,
        secret_file: secret_file.map(|text| text.is),
        success,
        timeout,
        allow_private,
    }))
}

pub(super) fn webhook(table: Table<'_>) -> Option<Way> {
    let allow_private = is_private_allowed(&table);
    let url = url(&table, "https://hollowbank.example/alerts", allow_private);
    let secret_file = table.text("secret-file");
    if secret_file.is_none() && !table.has("secret-file") {
        let help =
            "the receiver cannot tell them from a stranger's; add secret-file = \"hook.secret\"";
        table.faults().warn(&table.place(), "what this webhook posts is not signed", help);
    }
    let timeout = table.span("timeout", Span::seconds(20), TIMEOUT_MIN..=TIMEOUT_MAX);
    table.done();
    Some(Way::Webhook(Webhook {
        url: url?,
        secret_file: secret_file.map(|text| text.is),
        timeout,
        allow_private,
    }))
}

pub(super) fn is_private_allowed(table: &Table<'_>) -> bool {
    let said = table.flag("allow-private");
    // What is said in the wrong type is a fault of its own, and enough.
    said.unwrap_or(table.has("allow-private"))
}

pub(super) fn url(table: &Table<'_>, example: &str, allow_private: bool) -> Option<String> {
    let example = format!("write it like {example}");
    let url = table.needed("url", &example)?;
    let address = match address::parse(&url.is) {
        Ok(address) if matches!(address.scheme.as_str(), "http" | "https") => address,
        Ok(address) => {
            let title = format!(
                "{} is not a web address: {}:// is not spoken here",
                url.is, address.scheme
            );
            table.faults().refuse(&url.at, title, example);
            return None;
        }
        Err(why) => {
            let title = format!("{} is not a web address: {why}", url.is);
            table.faults().refuse(&url.at, title, example);
            return None;
        }
    };
    if address::is_inside(&address.host) && !allow_private {
        let title = format!("{} is this machine or the farm's own network", address.host);
        let help = "if that is meant, say so: allow-private = true";
        table.faults().refuse(&url.at, title, help);
    }
    Some(url.is)
}

/// The body with its places to fill in, each of which must be one we know.
fn body(table: &Table<'_>) -> Option<String> {
    let example = "write what the gateway wants, with {to} and {text} where they belong: body = '{\"to\": \"{to}\", \"text\": \"{text}\"}'";
    let Some(value) = table.value("body") else {
        table.missing("body", example);
        return None;
    };
    let body = value.any_text()?;
    for needed in ["{to}", "{text}"] {
        if !body.is.contains(needed) {
            value.refuse(format!("{needed} is not in the body"), example);
        }
    }
    for name in in_braces(&body.is) {
        if !IN_BODY.contains(&name.as_str()) {
            let title = format!("nothing is known to fill in for {name}");
            let help = suggest::way_out("there is", &name, &IN_BODY);
            value.refuse(title, help);
        }
    }
    Some(body.is)
}

/// Every `{word}` of small letters: JSON's own braces never hold a bare word.
fn in_braces(body: &str) -> Vec<String> {
    body.split('{')
        .skip(1)
        .filter_map(|rest| rest.split_once('}'))
        .map(|(word, _)| word)
        .filter(|word| !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase()))
        .map(|word| format!("{{{word}}}"))
        .collect()
}

fn headers(table: &Table<'_>, secret: Option<&Placed<String>>) -> Vec<(String, String)> {
    let Some(headers) = table.table("headers") else {
        return Vec::new();
    };
    let faults = table.faults();
    let texts = headers.all_texts();
    if texts.len() > HEADERS_MAX {
        let title = format!("there are more than {HEADERS_MAX} headers");
        faults.refuse(&headers.place(), title, "no gateway needs so many");
    }
    for (name, value) in &texts {
        check_header(name, value, secret, faults);
    }
    texts.into_iter().map(|(name, value)| (name, value.is)).collect()
}

fn check_header(
    name: &str,
    value: &Placed<String>,
    secret: Option<&Placed<String>>,
    faults: &Faults,
) {
    // RFC 9110 section 5.6.2: a field name is a token.
    let token = |b: u8| b.is_ascii_alphanumeric() || b"!#$%&'*+-.^_`|~".contains(&b);
    if name.is_empty() || !name.bytes().all(token) {
        let title = format!("{name:?} is not the name of a header");
        faults.refuse(&value.at, title, "write letters, digits and hyphens");
    }
    if value.is.contains("{secret}") && secret.is_none() {
        let help = "write the secret into a file of its own: secret-file = \"sms.secret\"";
        faults.refuse(&value.at, "{secret} needs a secret-file", help);
    }
}

fn success(table: Table<'_>) -> SmsSuccess {
    let status = table.values("status");
    let status = status.iter().filter_map(status_code).collect();
    let contains = table.text("contains").map(|text| text.is);
    table.done();
    SmsSuccess { status, contains }
}

fn status_code(value: &Value<'_>) -> Option<u16> {
    value.whole(100..=599).and_then(|code| u16::try_from(code).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_bare_words_in_braces_are_places_to_fill_in() {
        assert_eq!(
            in_braces("{\"to\": \"{to}\", \"x\": {\"text\": \"{txt}\"}, \"e\": {}}"),
            ["{to}", "{txt}"]
        );
    }
}
