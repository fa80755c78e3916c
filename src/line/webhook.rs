//! Notices to a web receiver, signed as Standard Webhooks says.
//!
//! One try of one notice. The body's bytes and the id are the same on every try, the timestamp is
//! that of the try; who is called when is somebody else's affair.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use bytes::Bytes;
use hmac::{Hmac, KeyInit, Mac};
use reqwest::Method;
use reqwest::header::{CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue};
use sha2::Sha256;

use super::Attempt;
use super::http::{self, Answer, Call};
use super::patience::Patience;
use super::quote::one_line;
use super::secret::Secret;
use super::target::Target;
use crate::alarm::message::Notice;
use crate::config::lines::Webhook;

/// What a symmetric key begins with.
const KEY_PREFIX: &str = "whsec_";

/// How many bytes a key has: fewer can be guessed, more is not a key.
const KEY_BYTES: std::ops::RangeInclusive<usize> = 24..=64;

/// While a key is being replaced there are two; more is a mistake.
const KEYS_CAP: usize = 4;

/// Posts `notice`; `now_seconds` is the time of this try, in seconds since 1970.
pub async fn post(
    line: &Webhook,
    secret: Option<&Secret>,
    notice: &Notice,
    now_seconds: i64,
) -> Attempt {
    try_once(line, secret, notice, now_seconds).await.unwrap_or_else(|attempt| attempt)
}

/// The signature of one try: `v1,` and base64 of HMAC-SHA256 over `id.timestamp.body`. A secret
/// file with several keys, parted by white space, gives one signature each, so that a receiver can
/// change its key without missing a notice.
pub fn sign(secret: &Secret, id: &str, timestamp: i64, body: &[u8]) -> Result<String, String> {
    if id.is_empty() || id.contains('.') {
        return Err(format!(
            "the id {id:?} cannot be signed: it is empty or has a full stop in it"
        ));
    }
    let keys = keys(secret)?;
    let signatures: Vec<String> =
        keys.iter().map(|key| signature(key, id, timestamp, body)).collect::<Result<_, _>>()?;
    Ok(signatures.join(" "))
}

/// A notice's id as it goes over the wire: the signed text is parted by full stops, so an id may
/// not have any.
pub fn wire_id(id: &str) -> String {
    id.replace('.', "_")
}

fn signature(key: &[u8], id: &str, timestamp: i64, body: &[u8]) -> Result<String, String> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key)
        .map_err(|fault| format!("the webhook key cannot be used: {fault}"))?;
    mac.update(format!("{id}.{timestamp}.").as_bytes());
    mac.update(body);
    Ok(format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes())))
}

fn keys(secret: &Secret) -> Result<Vec<Vec<u8>>, String> {
    let words: Vec<&str> = secret.expose().split_whitespace().collect();
    if words.is_empty() || words.len() > KEYS_CAP {
        return Err(format!(
            "the webhook's secret file holds {} keys; it should hold one, or two while one replaces \
             the other",
            words.len()
        ));
    }
    words.into_iter().map(key).collect()
}

fn key(word: &str) -> Result<Vec<u8>, String> {
    let coded = word.strip_prefix(KEY_PREFIX).ok_or_else(|| {
        format!(
            "the webhook's key does not begin with {KEY_PREFIX}; copy it whole from the receiver"
        )
    })?;
    let key = STANDARD.decode(coded).map_err(|_| {
        format!("what follows {KEY_PREFIX} in the webhook's key is not base64; copy it again")
    })?;
    if !KEY_BYTES.contains(&key.len()) {
        return Err(format!(
            "the webhook's key has {} bytes; Standard Webhooks wants {} to {}",
            key.len(),
            KEY_BYTES.start(),
            KEY_BYTES.end()
        ));
    }
    Ok(key)
}

async fn try_once(
    line: &Webhook,
    secret: Option<&Secret>,
    notice: &Notice,
    now_seconds: i64,
) -> Result<Attempt, Attempt> {
    let name = notice.line.as_str();
    if line.secret_file.is_some() && secret.is_none() {
        return Err(Attempt::Later {
            why: format!("the secret file of line {name} was not read, so nothing can be signed"),
            after: None,
        });
    }
    let call = Call {
        method: Method::POST,
        headers: headers(secret, notice, now_seconds)?,
        body: Bytes::copy_from_slice(notice.body.as_bytes()),
    };
    let patience = Patience::of(line.timeout);
    let target =
        Target::find(&line.url, line.allow_private, &format!("line {name}"), &patience).await?;
    let answer = http::exchange(&target, call, patience).await?;
    Ok(judge(answer, now_seconds).await)
}

fn headers(
    secret: Option<&Secret>,
    notice: &Notice,
    now_seconds: i64,
) -> Result<HeaderMap, Attempt> {
    let id = wire_id(&notice.id);
    let mut fields =
        vec![("webhook-id", id.clone()), ("webhook-timestamp", now_seconds.to_string())];
    if let Some(secret) = secret {
        let signed = sign(secret, &id, now_seconds, notice.body.as_bytes())
            .map_err(|why| Attempt::Never { why })?;
        fields.push(("webhook-signature", signed));
    }
    let mut headers = HeaderMap::new();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static("application/json"));
    for (field, value) in fields {
        let value = HeaderValue::from_str(&value).map_err(|_| Attempt::Never {
            why: format!("the notice's {field} cannot be sent: {value:?}"),
        })?;
        headers.insert(HeaderName::from_static(field), value);
    }
    Ok(headers)
}

async fn judge(answer: Answer, now_seconds: i64) -> Attempt {
    let status = answer.status();
    if (200..300).contains(&status) {
        return Attempt::Taken;
    }
    let after = answer.retry_after(Some(now_seconds));
    let host = answer.host().to_owned();
    let words = one_line(&answer.read().await.text);
    let why = if words.is_empty() {
        format!("{host} answered {status}")
    } else {
        format!("{host} answered {status}: {words}")
    };
    match status {
        410 => Attempt::Gone { why },
        // 408: it took too long to read us (RFC 9110 section 15.5.9), so again is right.
        408 | 429 | 500.. => Attempt::Later { why, after },
        300..=399 => Attempt::Never {
            why: format!("{why} (it sends us elsewhere; put the final address into url)"),
        },
        _ => Attempt::Never { why },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Standard Webhooks, the secret of the reference libraries' own tests
    // (github.com/standard-webhooks/standard-webhooks, JavaScript tests).
    const KEY: &str = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

    #[test]
    fn signatures_equal_the_published_ones() {
        // WH-04: Standard Webhooks reference libraries, JavaScript tests.
        // WH-05: the same without the space; computed with independent code (Python's hmac).
        // WH-06: a notice of our shape; computed with independent code (Python's hmac).
        let event = r#"{"type":"alarm.raised","timestamp":"2026-11-25T09:46:40Z","data":{"animal":"372000000004012"}}"#;
        for (id, timestamp, body, signature) in [
            (
                "msg_p5jXN8AQM9LWM0D4loKWxJek",
                1_614_265_330,
                r#"{"test": 2432232314}"#,
                "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
            ),
            (
                "msg_p5jXN8AQM9LWM0D4loKWxJek",
                1_614_265_330,
                r#"{"test":2432232314}"#,
                "v1,Vif40peJBP7Iyl0XGmu61n4MwdrcHov5CFREBpE0svs=",
            ),
            ("evt_0001", 1_795_600_000, event, "v1,WlQNPt9Z8pjvOP+pYQVkzIjHHBpSg+lHdthz14KTXSQ="),
        ] {
            let signed = sign(&Secret::new(KEY), id, timestamp, body.as_bytes());
            assert_eq!(signed.as_deref(), Ok(signature), "{body}");
        }
    }

    #[test]
    fn two_keys_give_two_signatures_while_one_replaces_the_other() {
        // WH-10: a list, parted by a space.
        let other = "whsec_AAECAwQFBgcICQoLDA0ODxAREhMUFRYX";
        let one = |key: &str| sign(&Secret::new(key), "evt_1", 5, b"{}").unwrap();
        let both = one(&format!("{KEY}\n{other}"));
        assert_eq!(both, format!("{} {}", one(KEY), one(other)));
    }

    #[test]
    fn an_id_on_the_wire_has_no_full_stop() {
        // WH-02: the signed text is parted by full stops.
        assert_eq!(wire_id("lowbell.7.12"), "lowbell_7_12");
        let signed = sign(&Secret::new(KEY), "lowbell.7.12", 5, b"{}");
        assert_eq!(
            signed.unwrap_err(),
            "the id \"lowbell.7.12\" cannot be signed: it is empty or has a full stop in it"
        );
    }

    #[test]
    fn a_key_that_cannot_be_right_is_refused_without_showing_it() {
        for (key, why) in [
            (
                "bell",
                "the webhook's key does not begin with whsec_; copy it whole from the receiver",
            ),
            ("whsec_???", "what follows whsec_ in the webhook's key is not base64; copy it again"),
            ("whsec_YmVsbA==", "the webhook's key has 4 bytes; Standard Webhooks wants 24 to 64"),
            (
                " ",
                "the webhook's secret file holds 0 keys; it should hold one, or two while one \
                 replaces the other",
            ),
        ] {
            let signed = sign(&Secret::new(key), "evt_1", 5, b"{}");
            assert_eq!(signed.unwrap_err(), why);
        }
    }
}
