//! The real servers that `tests/run` starts for the tests, and a plain way to put mail into them.
//!
//! A test that needs one fails without it; it never looks away.
#![allow(dead_code, reason = "each subject uses its own few")]

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::time::Duration;

/// The longest a test waits for anything that should happen: far longer than it takes.
pub(crate) const DEADLINE: Duration = Duration::from_secs(40);

#[allow(clippy::disallowed_methods, reason = "only here do the tests ask where their servers are")]
fn told(name: &str) -> String {
    std::env::var(name)
        .unwrap_or_else(|_| panic!("{name} is not set: this test needs its servers, run tests/run"))
}

fn place(name: &str) -> (String, u16) {
    let told = told(name);
    let (host, port) = told.rsplit_once(':').unwrap();
    (host.to_owned(), port.parse().unwrap())
}

/// mosquitto.
pub(crate) fn mqtt() -> (String, u16) {
    place("LOWBELL_TEST_MQTT")
}

/// OpenSMTPD: takes mail for anybody at hollowbank.example, but gone@ (550) and busy@ (451).
pub(crate) fn smtp() -> (String, u16) {
    place("LOWBELL_TEST_SMTP")
}

/// Dovecot, with STARTTLS; mail for NAME@hollowbank.example is read by the user NAME.
pub(crate) fn imap() -> (String, u16) {
    place("LOWBELL_TEST_IMAP")
}

/// The same Dovecot with TLS from the first byte.
pub(crate) fn imaps() -> (String, u16) {
    place("LOWBELL_TEST_IMAPS")
}

/// Another Dovecot on the same mailboxes that does not say it can IDLE.
pub(crate) fn imap_without_idle() -> (String, u16) {
    place("LOWBELL_TEST_IMAP_WITHOUT_IDLE")
}

/// The authority that signed the mail server's certificate.
pub(crate) fn imap_ca() -> PathBuf {
    told("LOWBELL_TEST_IMAP_CA").into()
}

/// A user of the mail server and the password, which is the same for every name.
pub(crate) fn mail_user() -> (String, String) {
    (told("LOWBELL_TEST_MAIL_USER"), told("LOWBELL_TEST_MAIL_PASSWORD"))
}

/// Hands a mail, byte for byte, to the SMTP server for NAME@hollowbank.example.
pub(crate) fn deliver(name: &str, sender: &str, mail: &str) {
    let (host, port) = smtp();
    let stream = TcpStream::connect((host, port)).unwrap();
    stream.set_read_timeout(Some(DEADLINE)).unwrap();
    let mut answers = BufReader::new(stream.try_clone().unwrap());
    let mut say = |text: &str, wanted: &str| {
        (&stream).write_all(text.as_bytes()).unwrap();
        loop {
            let mut answer = String::new();
            answers.read_line(&mut answer).unwrap();
            if answer.as_bytes().get(3) != Some(&b'-') {
                assert!(answer.starts_with(wanted), "{text:.60} was answered {answer}");
                return;
            }
        }
    };
    say("", "220");
    say("EHLO yard.hollowbank.example\r\n", "250");
    say(&format!("MAIL FROM:<{sender}>\r\n"), "250");
    say(&format!("RCPT TO:<{name}@hollowbank.example>\r\n"), "250");
    say("DATA\r\n", "354");
    let mut body = String::with_capacity(mail.len() + mail.len() / 32);
    for line in mail.lines() {
        if line.starts_with('.') {
            body.push('.');
        }
        body.push_str(line);
        body.push_str("\r\n");
    }
    body.push_str(".\r\n");
    say(&body, "250");
    say("QUIT\r\n", "221");
}

/// A mail from tests/letters.
pub(crate) fn letter(name: &str) -> String {
    let path = format!("{}/tests/letters/{name}.eml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}
