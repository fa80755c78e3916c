//! What went wrong with a mail server, in words for the farm.

use std::future::Future;
use std::time::Duration;

use async_imap::error::Error;
use async_imap::imap_proto::{Outcome, Response, Status};

/// A server's own words are shown no longer than this: a broken answer may be a whole mail.
const WORDS_CAP: usize = 200;

#[derive(Debug)]
pub(super) struct Trouble {
    /// What, where and what to do.
    pub(super) why: String,
    /// The user name or the password was refused: trying again soon makes it worse.
    pub(super) refused: bool,
}

impl Trouble {
    pub(super) fn new(why: impl Into<String>) -> Self {
        Self { why: why.into(), refused: false }
    }

    /// `doing` is what was being done, such as "logging in".
    pub(super) fn from_imap(place: &str, doing: &str, error: &Error) -> Self {
        Self::new(format!("{place}, {doing}: {}", words(error)))
    }

    /// The server said NO to the user name or the password.
    pub(super) fn refused(place: &str, user: &str, error: &Error) -> Self {
        let words = words(error);
        // RFC 5530: the server cannot check the password just now; it is not known to be wrong.
        if words.contains("[UNAVAILABLE]") {
            return Self::new(format!("{place} cannot check passwords now: {words}"));
        }
        Self {
            why: format!(
                "{place} refuses the user {user} or the password: {words}; check user and \
                 password-file"
            ),
            refused: true,
        }
    }
}

/// Runs one call with a limit of time; says where and at what it failed.
pub(super) async fn within<T, E: Into<Error>>(
    place: &str,
    doing: &str,
    limit: Duration,
    call: impl Future<Output = Result<T, E>>,
) -> Result<T, Trouble> {
    match tokio::time::timeout(limit, call).await {
        Ok(Ok(done)) => Ok(done),
        Ok(Err(error)) => Err(Trouble::from_imap(place, doing, &error.into())),
        Err(_) => Err(silent(place, doing, limit)),
    }
}

pub(super) fn silent(place: &str, doing: &str, limit: Duration) -> Trouble {
    Trouble::new(format!("{place}, {doing}: no answer within {} s", limit.as_secs_f32()))
}

/// A server may end the conversation in any answer (RFC 3501 section 7.1.5).
pub(super) fn not_a_goodbye(place: &str, answer: &Response<'_>) -> Result<(), Trouble> {
    if let Response::Data { status: Status::Bye, outcome } = answer {
        let words = information(outcome);
        return Err(Trouble::new(format!("{place} ends the connection: {words}")));
    }
    Ok(())
}

pub(super) fn information(outcome: &Outcome<'_>) -> String {
    shortened(outcome.information.as_deref().unwrap_or("without a word"))
}

/// The server's words, or the machine's about the connection.
pub(super) fn words(error: &Error) -> String {
    let words = if let Error::No(text) | Error::Bad(text) = error {
        said(text).unwrap_or_else(|| text.clone())
    } else if closed(error) {
        "the server closed the connection".to_owned()
    } else if let Error::Io(error) = error {
        error.to_string()
    } else {
        error.to_string()
    };
    shortened(&words)
}

fn closed(error: &Error) -> bool {
    if let Error::Io(error) = error {
        return error.kind() == std::io::ErrorKind::UnexpectedEof;
    }
    matches!(error, Error::ConnectionLost)
}

/// The library wraps what the server said into its own notation: `… info: Some("WORDS")`.
fn said(text: &str) -> Option<String> {
    let (_, words) =
        text.split_once("info: Some(\"").or_else(|| text.split_once("information: Some(\""))?;
    let (words, _) = words.rsplit_once("\")")?;
    Some(words.to_owned())
}

/// One line, and not a long one.
pub(super) fn shortened(words: &str) -> String {
    let mut line = words.replace(char::is_control, " ");
    if line.len() > WORDS_CAP {
        line.truncate(line.floor_char_boundary(WORDS_CAP));
        line.push('…');
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refused_password_is_said_clearly() {
        let no = |words: &str| Error::No(format!("code: None, info: Some(\"{words}\")"));
        let trouble = Trouble::refused(
            "mail.hollowbank.example:993",
            "lowbell",
            &no("[AUTHENTICATIONFAILED] Authentication failed."),
        );
        assert!(trouble.refused);
        assert_eq!(
            trouble.why,
            "mail.hollowbank.example:993 refuses the user lowbell or the password: \
             [AUTHENTICATIONFAILED] Authentication failed.; check user and password-file"
        );
        // RFC 5530 section 3, response code UNAVAILABLE.
        let trouble = Trouble::refused("here:143", "lowbell", &no("[UNAVAILABLE] Later."));
        assert!(!trouble.refused);
        assert_eq!(trouble.why, "here:143 cannot check passwords now: [UNAVAILABLE] Later.");
    }

    #[test]
    fn a_broken_answer_is_not_shown_at_length() {
        let error = Error::Io(std::io::Error::other("x\n".repeat(5000)));
        assert_eq!(words(&error).len(), WORDS_CAP + '…'.len_utf8());
    }
}
