//! One HTTP exchange with a gateway or receiver: one request, at most one answer.
//!
//! It follows no redirect, repeats nothing, uses no proxy and keeps no connection for later. What
//! went wrong before the request can have left is told apart from what went wrong after.

use std::path::Path;
use std::sync::Arc;

use bytes::Bytes;
use jiff::fmt::{rfc2822, strtime};
use jiff::tz::TimeZone;
use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use reqwest::header::{
    AGE, CONTENT_TYPE, DATE, HeaderMap, HeaderName, LAST_MODIFIED, RETRY_AFTER, WWW_AUTHENTICATE,
};
use reqwest::{Client, Method, Response, redirect, retry};

use super::Attempt;
use super::patience::Patience;
use super::quote::causes;
use super::target::Target;
use super::trust;
use crate::plain::moment::Span;

/// How much of an answer is read; a gateway's verdict is in its first lines.
pub(super) const ANSWER_CAP: usize = 64 * 1024;

/// Longer than this nobody waits with an alarm, whatever the other side asks for.
pub(super) const RETRY_AFTER_CAP: Span = Span::hours(24);

/// A picture said to be older than this is as good as one of unknown age.
const AGE_CAP: Span = Span::days(3_650);

const OUR_NAME: &str = concat!("lowbell/", env!("CARGO_PKG_VERSION"));

/// What is to be sent.
pub(super) struct Call {
    pub(super) method: Method,
    pub(super) headers: HeaderMap,
    pub(super) body: Bytes,
}

/// What came back; its body is read only when asked for.
pub(super) struct Answer {
    response: Response,
    patience: Patience,
    host: String,
}

/// An answer's body, as far as it came.
pub(super) struct Said {
    pub(super) text: String,
    /// Why it broke off, if it did.
    pub(super) broke: Option<String>,
}

/// Sends `call` to `target` and waits for the head of the answer.
pub(super) async fn exchange(
    target: &Target,
    call: Call,
    patience: Patience,
) -> Result<Answer, Attempt> {
    exchange_trusting(target, call, patience, None).await
}

/// The same with a machine that the authorities in the file `ca` may vouch for.
pub(super) async fn exchange_trusting(
    target: &Target,
    call: Call,
    patience: Patience,
    ca: Option<&Path>,
) -> Result<Answer, Attempt> {
    let host = target.url.host_str().unwrap_or_default().to_owned();
    let mut builder = client(target, &patience);
    if let Some(ca) = ca {
        let trust = trust::client(Some(ca)).map_err(|why| Attempt::Never { why })?;
        builder = builder.tls_backend_preconfigured((*trust).clone());
    }
    let client = builder.build().map_err(|fault| Attempt::Later {
        why: format!("cannot set up a connection to {host}: {}", causes(&fault)),
        after: None,
    })?;
    let request =
        client.request(call.method, target.url.clone()).headers(call.headers).body(call.body);
    match patience.keep(request.send()).await {
        Ok(Ok(response)) => Ok(Answer { response, patience, host }),
        Ok(Err(fault)) => Err(failed(&host, fault)),
        Err(_) => Err(Attempt::Unsure {
            why: format!("{host} gave no answer within {}", patience.words()),
        }),
    }
}

fn failed(host: &str, fault: reqwest::Error) -> Attempt {
    let unsent = fault.is_connect();
    let unmade = fault.is_builder();
    // The address may carry a key in its query: it stays out of the words.
    let why = causes(&fault.without_url());
    if unmade {
        Attempt::Never { why: format!("the request to {host} cannot be made: {why}") }
    } else if unsent {
        Attempt::Later { why: format!("{host} cannot be reached: {why}"), after: None }
    } else {
        Attempt::Unsure { why: format!("the link to {host} broke before it answered: {why}") }
    }
}

fn client(target: &Target, patience: &Patience) -> reqwest::ClientBuilder {
    let mut builder = Client::builder()
        .user_agent(OUR_NAME)
        .redirect(redirect::Policy::none())
        .retry(retry::never())
        .no_proxy()
        .referer(false)
        .pool_max_idle_per_host(0)
        // Half, so that running out while connecting is not taken for a lost answer.
        .connect_timeout(patience.half())
        .dns_resolver(Arc::new(Checked(target.addresses.clone())));
    if target.url.scheme() == "http" {
        // Needs no certificates, so a machine without any can still reach its local gateway.
        builder = builder.tls_certs_only([]);
    }
    builder
}

/// Answers every look-up with the addresses that were checked.
struct Checked(Vec<std::net::SocketAddr>);

impl Resolve for Checked {
    fn resolve(&self, _name: Name) -> Resolving {
        let addresses: Addrs = Box::new(self.0.clone().into_iter());
        Box::pin(std::future::ready(Ok(addresses)))
    }
}

impl Answer {
    pub(super) fn status(&self) -> u16 {
        self.response.status().as_u16()
    }

    pub(super) fn host(&self) -> &str {
        &self.host
    }

    /// What the other side asked us to wait. Where its date is the only one known, a date in
    /// `Retry-After` is counted from there.
    pub(super) fn retry_after(&self, now_seconds: Option<i64>) -> Option<Span> {
        let now = now_seconds.or_else(|| http_date(self.header(&DATE)?));
        retry_after(self.header(&RETRY_AFTER)?, now)
    }

    /// How old the answer is by what the other side says: since it was last changed, by its own clock,
    /// and in a store on the way (RFC 9110 sections 6.6.1 and 8.8.2, RFC 9111 section 5.1).
    pub(super) fn age(&self) -> Span {
        let date = |name| http_date(self.header(name)?);
        let changed = match (date(&DATE), date(&LAST_MODIFIED)) {
            (Some(now), Some(changed)) => now.saturating_sub(changed).max(0),
            (None | Some(_), None | Some(_)) => 0,
        };
        let stored = self.header(&AGE).and_then(|age| age.trim().parse::<u32>().ok());
        Span::seconds(changed.min(AGE_CAP.whole_seconds()))
            + Span::seconds(i64::from(stored.unwrap_or(0)))
    }

    /// Which kind of login the other side asks for.
    pub(super) fn wanted_login(&self) -> Option<&str> {
        self.header(&WWW_AUTHENTICATE)?.split_whitespace().next()
    }

    pub(super) fn content_type(&self) -> Option<&str> {
        self.header(&CONTENT_TYPE)
    }

    fn header(&self, name: &HeaderName) -> Option<&str> {
        self.response.headers().get(name)?.to_str().ok()
    }

    /// Reads the whole body, or says why it cannot be had whole.
    pub(super) async fn whole(mut self, most: usize) -> Result<Vec<u8>, String> {
        let announced = self.response.content_length().unwrap_or(0);
        if usize::try_from(announced).map_or(true, |announced| announced > most) {
            return Err(format!("{} sent more than {most} bytes", self.host));
        }
        let mut bytes = Vec::new();
        loop {
            match self.patience.keep(self.response.chunk()).await {
                Ok(Ok(Some(chunk))) if bytes.len() + chunk.len() > most => {
                    return Err(format!("{} sent more than {most} bytes", self.host));
                }
                Ok(Ok(Some(chunk))) => bytes.extend_from_slice(&chunk),
                Ok(Ok(None)) => return Ok(bytes),
                Ok(Err(fault)) => {
                    let why = causes(&fault.without_url());
                    return Err(format!("{} broke off: {why}", self.host));
                }
                Err(_) => {
                    let words = self.patience.words();
                    return Err(format!("{} did not finish within {words}", self.host));
                }
            }
        }
    }

    /// Reads the body, at most [`ANSWER_CAP`] bytes of it.
    pub(super) async fn read(mut self) -> Said {
        let mut bytes = Vec::new();
        let broke = loop {
            match self.patience.keep(self.response.chunk()).await {
                Ok(Ok(Some(chunk))) => {
                    let room = ANSWER_CAP - bytes.len();
                    bytes.extend_from_slice(&chunk[..chunk.len().min(room)]);
                    if bytes.len() == ANSWER_CAP {
                        break None;
                    }
                }
                Ok(Ok(None)) => break None,
                Ok(Err(fault)) => break Some(causes(&fault.without_url())),
                Err(_) => break Some(format!("not finished within {}", self.patience.words())),
            }
        };
        Said { text: String::from_utf8_lossy(&bytes).into_owned(), broke }
    }
}

/// Reads `Retry-After` (RFC 9110 section 10.2.3): seconds, or a date that needs to know `now`.
/// A date in the past is no wait; more than [`RETRY_AFTER_CAP`] is cut.
pub(super) fn retry_after(value: &str, now_seconds: Option<i64>) -> Option<Span> {
    let value = value.trim();
    let seconds = if !value.is_empty() && value.bytes().all(|b| b.is_ascii_digit()) {
        // Digits beyond an i64 mean "very long", which is cut below.
        value.parse::<i64>().unwrap_or(i64::MAX)
    } else {
        http_date(value)?.saturating_sub(now_seconds?)
    };
    let seconds = seconds.clamp(0, RETRY_AFTER_CAP.whole_seconds());
    Some(Span::seconds(seconds))
}

/// Seconds since 1970 of an HTTP date in any of its three forms (RFC 9110 section 5.6.7).
fn http_date(text: &str) -> Option<i64> {
    if let Ok(stamp) = rfc2822::DateTimeParser::new().parse_timestamp(text) {
        return Some(stamp.as_second());
    }
    ["%A, %d-%b-%y %H:%M:%S GMT", "%a %b %e %H:%M:%S %Y"].iter().find_map(|form| {
        let wall = strtime::parse(form, text).ok()?.to_datetime().ok()?;
        Some(TimeZone::UTC.to_timestamp(wall).ok()?.as_second())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt, AsyncWriteExt};

    #[test]
    fn a_wait_is_read_in_both_forms() {
        // RFC 9110 section 10.2.3, both examples (WH-15): a date, and seconds.
        let date = "Fri, 31 Dec 1999 23:59:59 GMT";
        let at = 946_684_799;
        assert_eq!(retry_after("120", None), Some(Span::seconds(120)));
        assert_eq!(retry_after(date, Some(at - 90)), Some(Span::seconds(90)));
        assert_eq!(retry_after(date, Some(at + 90)), Some(Span::ZERO), "past");
        assert_eq!(retry_after(date, None), None, "nobody knows the time");
    }

    #[test]
    fn a_date_is_read_in_all_three_forms() {
        // RFC 9110 section 5.6.7: one instant, three forms; 784111777 computed with `date -u -d`.
        for text in [
            "Sun, 06 Nov 1994 08:49:37 GMT",
            "Sunday, 06-Nov-94 08:49:37 GMT",
            "Sun Nov  6 08:49:37 1994",
        ] {
            assert_eq!(http_date(text), Some(784_111_777), "{text}");
        }
    }

    #[test]
    fn a_wait_is_never_longer_than_a_day_and_nonsense_is_none() {
        assert_eq!(retry_after("86401", None), Some(Span::hours(24)));
        assert_eq!(retry_after(&"9".repeat(40), None), Some(Span::hours(24)));
        let far = "Thu, 31 Dec 2099 23:59:59 GMT";
        assert_eq!(retry_after(far, Some(0)), Some(Span::hours(24)));
        for nonsense in ["", "-5", "1.5", "soon", "12 s"] {
            assert_eq!(retry_after(nonsense, Some(0)), None, "{nonsense:?}");
        }
    }

    /// The name does not exist: only the checked address can have been used.
    #[tokio::test]
    async fn the_connection_goes_to_the_checked_address_and_the_name_is_not_looked_up_again() {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let gate = tokio::spawn(async move {
            let (mut link, _) = listener.accept().await.unwrap();
            let mut heard = Vec::new();
            while !heard.ends_with(b"\r\n\r\n") {
                heard.push(link.read_u8().await.unwrap());
            }
            link.write_all(b"HTTP/1.1 204 No Content\r\n\r\n").await.unwrap();
            String::from_utf8(heard).unwrap()
        });
        let url = format!("http://gate.hollowbank.invalid:{}/bell", address.port());
        let target = Target { url: url.parse().unwrap(), addresses: vec![address] };
        let call = Call { method: Method::GET, headers: HeaderMap::new(), body: Bytes::new() };
        let patience = Patience::of(Span::seconds(5));
        let answer = exchange(&target, call, patience).await.ok().unwrap();
        assert_eq!(answer.status(), 204);
        let heard = gate.await.unwrap().to_ascii_lowercase();
        assert!(heard.starts_with("get /bell http/1.1\r\n"), "{heard}");
        let named = format!("host: gate.hollowbank.invalid:{}\r\n", address.port());
        assert!(heard.contains(&named), "{heard}");
    }
}
