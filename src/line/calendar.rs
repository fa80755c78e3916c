//! Fetches a calendar from its address, once. It follows nobody elsewhere, and never says the address: whoever has it has
//! the calendar.

use bytes::Bytes;
use reqwest::Method;
use reqwest::header::{ACCEPT, HeaderMap, HeaderValue};

use super::Attempt;
use super::http::{self, Call};
use super::patience::Patience;
use super::target::Target;
use crate::plain::moment::Span;

/// More is no rota.
const LARGEST: usize = 1024 * 1024;
const LIMIT: Span = Span::seconds(30);

/// The text at `url`, or why it could not be had. `whose` is what it stands on, such as "rota nights".
///
/// # Errors
/// Says in a sentence what went wrong, with the other machine's name alone.
pub async fn fetch(url: &str, allow_private: bool, whose: &str) -> Result<String, String> {
    let patience = Patience::of(LIMIT);
    let headers = HeaderMap::from_iter([(ACCEPT, HeaderValue::from_static("text/calendar"))]);
    let call = Call { method: Method::GET, headers, body: Bytes::new() };
    let target = Target::find(url, allow_private, whose, &patience).await.map_err(Attempt::why)?;
    let answer = http::exchange(&target, call, patience).await.map_err(Attempt::why)?;
    let (host, status) = (answer.host().to_owned(), answer.status());
    match status {
        200 => {}
        300..=399 => {
            return Err(format!(
                "{host} answered {status} and sends us elsewhere; put the final address into url"
            ));
        }
        _ => return Err(format!("{host} answered {status}")),
    }
    let bytes = answer.whole(LARGEST).await?;
    String::from_utf8(bytes).map_err(|_| format!("what {host} sent is no text"))
}
