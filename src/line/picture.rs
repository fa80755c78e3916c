//! A still picture: fetched once from a camera's web address, or known by its first bytes.
//!
//! It believes no name and no type that it is told: what is not a JPEG or PNG by its own first bytes is
//! no picture. It follows no redirect and does not try again.

use std::path::Path;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use bytes::Bytes;
use reqwest::Method;
use reqwest::header::{ACCEPT, AUTHORIZATION, CACHE_CONTROL, HeaderMap, HeaderValue};

use super::Attempt;
use super::http::{self, Answer, Call};
use super::patience::Patience;
use super::secret::Secret;
use super::target::Target;
use crate::config::cameras::StillUrl;
use crate::plain::moment::Span;

/// How long a camera may take: then the mail leaves without a picture.
pub const LIMIT: Span = Span::seconds(20);

/// A picture in one of the two forms that any mail program shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    pub bytes: Bytes,
    pub form: Form,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Jpeg,
    Png,
}

/// A picture fetched, and how old it was then by what the camera says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fetched {
    pub picture: Picture,
    pub age: Span,
}

impl Form {
    /// By the first bytes: SOI and the next marker of a JPEG (ITU-T T.81 section B.1.1.3), the signature
    /// of a PNG (W3C PNG section 5.2).
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            Some(Self::Jpeg)
        } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else {
            None
        }
    }

    pub fn mime(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }

    /// How a file of it ends.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
        }
    }
}

impl Picture {
    /// `None` if these bytes are no picture.
    pub fn of(bytes: Bytes) -> Option<Self> {
        Form::of(&bytes).map(|form| Self { bytes, form })
    }
}

/// Fetches the still of `camera` once, within `limit`, or says why there is none. `base` is the folder
/// of the settings, where `ca` is found.
pub async fn fetch(
    camera: &str,
    still: &StillUrl,
    password: Option<&Secret>,
    base: &Path,
    largest: usize,
    limit: Span,
) -> Result<Fetched, String> {
    let patience = Patience::of(limit);
    let headers = headers(still, password)?;
    let call = Call { method: Method::GET, headers, body: Bytes::new() };
    let whose = format!("camera {camera}");
    let target = Target::find(&still.url, still.allow_private, &whose, &patience).await;
    let target = target.map_err(Attempt::why)?;
    let ca = still.ca.as_ref().map(|ca| base.join(ca));
    let answer = http::exchange_trusting(&target, call, patience, ca.as_deref()).await;
    let answer = answer.map_err(Attempt::why)?;
    refuse_no(&answer)?;
    let (age, host) = (answer.age(), answer.host().to_owned());
    let told = answer.content_type().map(|told| told.chars().take(60).collect::<String>());
    let bytes = answer.whole(largest).await?;
    match Picture::of(Bytes::from(bytes)) {
        Some(picture) => Ok(Fetched { picture, age }),
        None => {
            let told = told.map_or(String::new(), |told| format!(", but {told}"));
            Err(format!("what {host} sent is no JPEG or PNG{told}"))
        }
    }
}

fn headers(still: &StillUrl, password: Option<&Secret>) -> Result<HeaderMap, String> {
    let mut headers = HeaderMap::new();
    headers.insert(ACCEPT, HeaderValue::from_static("image/jpeg, image/png"));
    // A picture from a store on the way would be that of an earlier event.
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    if let Some(user) = &still.user {
        let password = password.ok_or("the camera's password was not read; check password-file")?;
        // RFC 7617 section 2.
        let both = STANDARD.encode(format!("{user}:{}", password.expose()));
        let mut value = HeaderValue::from_str(&format!("Basic {both}"))
            .map_err(|_| "the camera's user or password cannot be sent".to_owned())?;
        value.set_sensitive(true);
        headers.insert(AUTHORIZATION, value);
    }
    Ok(headers)
}

/// Whether the camera said anything but yes.
fn refuse_no(answer: &Answer) -> Result<(), String> {
    let (host, status) = (answer.host(), answer.status());
    match status {
        200 => Ok(()),
        401 => Err(match answer.wanted_login() {
            Some(kind) if !kind.eq_ignore_ascii_case("basic") => {
                format!("{host} wants a login of the kind {}, only Basic is spoken", plain(kind))
            }
            Some(_) | None => {
                format!("{host} answered 401: check user and password-file of the camera")
            }
        }),
        300..=399 => Err(format!(
            "{host} answered {status} and sends us elsewhere; put the final address into still"
        )),
        _ => Err(format!("{host} answered {status}")),
    }
}

/// A word of a stranger's, short and plain enough for a mail.
fn plain(word: &str) -> String {
    word.chars().filter(char::is_ascii_alphanumeric).take(20).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sources: ITU-T T.81 section B.1.1.3 and W3C PNG section 5.2 for the first bytes of each form.
    #[test]
    fn a_picture_is_known_by_its_first_bytes_alone() {
        for (bytes, form) in [
            (&[0xff, 0xd8, 0xff, 0xe0][..], Some(Form::Jpeg)),
            (&[0xff, 0xd8, 0xff, 0xdb], Some(Form::Jpeg)),
            (&[137, 80, 78, 71, 13, 10, 26, 10, 0], Some(Form::Png)),
            (&[137, 80, 78, 71, 10, 26, 10], None),
            (&[0xff, 0xd8], None),
            (b"<html>", None),
            (b"", None),
        ] {
            assert_eq!(Form::of(bytes), form, "{bytes:?}");
        }
    }
}
