//! Mails out: one try of one mail to one person.
//!
//! The talk with the server is led step by step, because it matters where it stops: before the
//! mail was handed over nothing has happened, after it nobody knows. Only the answer 250 to the
//! whole mail counts as taken. A connection is used once and never kept.

use std::path::Path;
use std::time::Duration;

use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{AsyncSmtpConnection, Certificate, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::{Response, Severity};

pub use super::mail_out::{Enclosed, Named, compose, compose_with};

use super::Attempt;
use super::patience::Patience;
use super::quote::{causes, one_line};
use super::secret::Secret;
use crate::alarm::message::Message;
use crate::config::lines::{Security, Smtp};
use crate::plain::moment::Span;

/// How long a server may take to say goodbye once the matter is settled.
const GOODBYE: Duration = Duration::from_millis(500);

/// Two MiB of picture at a hundred and fifty kbit/s, which is a poor line.
const PICTURE_TIMEOUT: Span = Span::minutes(3);

/// A file of authorities larger than this is some other file.
const CA_CAP: u64 = 1024 * 1024;

/// Hands `message` to the mail server. `base` is the folder of the settings, where `ca` is found.
pub async fn send(
    line: &Smtp,
    password: Option<&Secret>,
    base: &Path,
    message: &Message,
) -> Attempt {
    let mail = match compose(line, message) {
        Ok(mail) => mail,
        Err(why) => return Attempt::Never { why },
    };
    hand_over(line, password, base, &mail, line.timeout).await
}

/// The same for a mail with a picture, which is large: a farm's line may need its time.
pub async fn send_enclosed(
    line: &Smtp,
    password: Option<&Secret>,
    base: &Path,
    message: &Message,
    enclosed: &Enclosed,
) -> Attempt {
    match compose_with(line, message, enclosed) {
        Ok(mail) => {
            let timeout = line.timeout.max(PICTURE_TIMEOUT);
            hand_over(line, password, base, &mail, timeout).await
        }
        Err(why) => Attempt::Never { why },
    }
}

async fn hand_over(
    line: &Smtp,
    password: Option<&Secret>,
    base: &Path,
    mail: &lettre::Message,
    timeout: Span,
) -> Attempt {
    let patience = Patience::of(timeout);
    let server = format!("{}:{}", line.server.host, line.server.port);
    let mut connection = match patience.keep(connect(line, base, &patience)).await {
        Ok(Ok(connection)) => connection,
        Ok(Err(attempt)) => return attempt,
        Err(_) => return silent(&server, &patience),
    };
    match patience.keep(offer(&mut connection, line, password, mail)).await {
        Ok(Ok(())) => {}
        Ok(Err(attempt)) => {
            leave(connection).await;
            return attempt;
        }
        Err(_) => return silent(&server, &patience),
    }
    match patience.keep(connection.message(&mail.formatted())).await {
        Ok(answer) => {
            leave(connection).await;
            judge(answer)
        }
        Err(_) => Attempt::Unsure {
            why: format!(
                "the mail server {server} has the mail but did not confirm it within {}",
                patience.words()
            ),
        },
    }
}

/// Connects, hears the greeting and goes over to TLS where the settings want it. Half of the
/// patience for one address, so that a second one is tried where the first swallows everything.
async fn connect(
    line: &Smtp,
    base: &Path,
    patience: &Patience,
) -> Result<AsyncSmtpConnection, Attempt> {
    let (at_once, afterwards) = match line.server.security {
        Security::Plain => (None, None),
        Security::StartTls => (None, Some(trust(line, base)?)),
        Security::Tls => (Some(trust(line, base)?), None),
    };
    let we = ClientId::default();
    let server = (bare_host(&line.server.host), line.server.port);
    let each = Some(patience.half());
    let mut connection = AsyncSmtpConnection::connect_tokio1(server, each, &we, at_once, None)
        .await
        .map_err(|fault| refused("to talk to us", &fault))?;
    if let Some(tls) = afterwards {
        // No QUIT when this fails: what is left of the connection cannot carry it.
        connection.starttls(tls, &we).await.map_err(|fault| refused("STARTTLS", &fault))?;
    }
    Ok(connection)
}

fn bare_host(host: &str) -> &str {
    host.trim_start_matches('[').trim_end_matches(']')
}

/// Everything up to the point where the server says "go on, send it".
async fn offer(
    connection: &mut AsyncSmtpConnection,
    line: &Smtp,
    password: Option<&Secret>,
    mail: &lettre::Message,
) -> Result<(), Attempt> {
    if let Some(user) = &line.server.user {
        let password = password.ok_or_else(|| Attempt::Later {
            why: "the mail line has a user, but no password was read; check password-file"
                .to_owned(),
            after: None,
        })?;
        let login = Credentials::new(user.clone(), password.expose().to_owned());
        connection
            .auth(&[Mechanism::Plain, Mechanism::Login], &login)
            .await
            .map_err(|fault| refused("the login (check user and password-file)", &fault))?;
    }
    let envelope = mail.envelope();
    let sender = Mail::new(envelope.from().cloned(), Vec::new());
    expect_done("the sender", connection.command(sender).await)?;
    for to in envelope.to() {
        let recipient = Rcpt::new(to.clone(), Vec::new());
        expect_done(&format!("the recipient {to}"), connection.command(recipient).await)?;
    }
    match connection.command(Data).await {
        Ok(answer) if answer.has_code(354) => Ok(()),
        Ok(answer) => Err(out_of_step("DATA", &answer)),
        Err(fault) => Err(refused("DATA", &fault)),
    }
}

fn expect_done(what: &str, answer: Result<Response, Error>) -> Result<(), Attempt> {
    match answer {
        Ok(answer) if answer.code().severity == Severity::PositiveCompletion => Ok(()),
        Ok(answer) => Err(out_of_step(what, &answer)),
        Err(fault) => Err(refused(what, &fault)),
    }
}

/// What the answer to the whole mail means. A library's "positive" is not enough: a 354 here is an
/// answer to something else.
fn judge(answer: Result<Response, Error>) -> Attempt {
    match answer {
        Ok(answer) if answer.has_code(250) => Attempt::Taken,
        Ok(answer) => Attempt::Unsure {
            why: format!("the mail server answered the mail with {}, not 250", answer.code()),
        },
        Err(fault) if fault.status().is_some() => refused("the mail", &fault),
        Err(fault) => Attempt::Unsure {
            why: format!(
                "the link broke before the mail server confirmed the mail: {}",
                causes(&fault)
            ),
        },
    }
}

/// A refusal before the mail was handed over. What is wrong with the link or its certificate may
/// pass (a Pi that boots in the past finds no certificate valid yet), so it is tried again.
fn refused(what: &str, fault: &Error) -> Attempt {
    let words = causes(fault);
    if fault.is_permanent() {
        Attempt::Never { why: format!("the mail server refused {what}: {words}") }
    } else if fault.is_client() || fault.is_tls() {
        Attempt::Never {
            why: format!("the mail server and the settings do not fit at {what}: {words}"),
        }
    } else if fault.is_transient() {
        Attempt::Later {
            why: format!("the mail server refused {what} for now: {words}"),
            after: None,
        }
    } else {
        Attempt::Later { why: format!("no link to the mail server: {words}"), after: None }
    }
}

fn out_of_step(what: &str, answer: &Response) -> Attempt {
    Attempt::Later {
        why: format!(
            "the mail server answered {what} with {}: {}",
            answer.code(),
            one_line(&answer.message().collect::<Vec<_>>().join(" "))
        ),
        after: None,
    }
}

fn silent(server: &str, patience: &Patience) -> Attempt {
    Attempt::Later {
        why: format!("the mail server {server} did not take the mail within {}", patience.words()),
        after: None,
    }
}

/// Says QUIT. Whatever comes back, the matter is settled.
async fn leave(mut connection: AsyncSmtpConnection) {
    let _ = tokio::time::timeout(GOODBYE, connection.abort()).await;
}

/// The system's authorities, and those of `ca` besides.
fn trust(line: &Smtp, base: &Path) -> Result<TlsParameters, Attempt> {
    let mut trust = TlsParameters::builder(bare_host(&line.server.host).to_owned());
    if let Some(ca) = &line.server.ca {
        let authorities = authorities(&base.join(ca)).map_err(|why| Attempt::Never { why })?;
        trust = trust.add_root_certificate(authorities);
    }
    trust.build_rustls().map_err(|fault| Attempt::Never {
        why: format!("TLS cannot be set up for the mail server: {}", causes(&fault)),
    })
}

fn authorities(place: &Path) -> Result<Certificate, String> {
    let shown = place.display();
    let size = std::fs::metadata(place)
        .map_err(|fault| format!("the ca file {shown} cannot be read: {fault}"))?
        .len();
    if size > CA_CAP {
        return Err(format!(
            "the ca file {shown} is larger than {CA_CAP} bytes; it should hold certificates alone"
        ));
    }
    let pem = std::fs::read(place)
        .map_err(|fault| format!("the ca file {shown} cannot be read: {fault}"))?;
    if !String::from_utf8_lossy(&pem).contains("-----BEGIN CERTIFICATE-----") {
        return Err(format!("the ca file {shown} holds no certificate; it should be in PEM form"));
    }
    Certificate::from_pem(&pem)
        .map_err(|fault| format!("the ca file {shown} cannot be used: {}", causes(&fault)))
}
