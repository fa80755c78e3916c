//! Reads lines of the kinds smtp and imap: mail out, and answers back.

use super::address::{self, Address};
use super::faults::Placed;
use super::lines::{Imap, Security, Server, Smtp, Way};
use super::tree::Table;
use crate::plain::moment::Span;

const TIMEOUT_MIN: Span = Span::seconds(1);
const TIMEOUT_MAX: Span = Span::minutes(5);
const POLL_MIN: Span = Span::seconds(5);
const POLL_MAX: Span = Span::hours(1);
const IDLE_MIN: Span = Span::seconds(10);

/// A server may hang up on an IDLE after 30 minutes (RFC 2177 section 3).
const IDLE_MAX: Span = Span::minutes(29);

const SMTP_URL: &str = "write it like smtp://127.0.0.1:25, or smtps:// for TLS";
const IMAP_URL: &str = "write it like imaps://mail.hollowbank.example";

pub(super) fn smtp(table: Table<'_>) -> Option<Way> {
    let server = server(&table, "smtp", SMTP_URL, |address| match address.scheme.as_str() {
        "smtps" => Ok((Security::Tls, 465)),
        "smtp" if address::is_loopback(&address.host) => Ok((Security::Plain, 25)),
        "smtp" => Ok((Security::StartTls, 25)),
        other => Err(format!("{other}:// is not spoken here")),
    });
    let from = table.needed("from", "the address mails come from and answers go to");
    if let Some(from) = &from {
        check_mail(&table, from);
    }
    let reply_to = table.text("reply-to");
    if let Some(reply_to) = &reply_to {
        check_mail(&table, reply_to);
    }
    let timeout = table.span("timeout", Span::seconds(30), TIMEOUT_MIN..=TIMEOUT_MAX);
    table.done();
    Some(Way::Smtp(Smtp {
        server: server?,
        from: from?.is,
        reply_to: reply_to.map(|text| text.is),
        timeout,
    }))
}

pub(super) fn imap(table: Table<'_>) -> Option<Way> {
    let server = server(&table, "imap", IMAP_URL, |address| match address.scheme.as_str() {
        "imaps" => Ok((Security::Tls, 993)),
        "imap" if address::is_loopback(&address.host) => Ok((Security::Plain, 143)),
        "imap" => {
            Err("imap:// to another machine would show the password; write imaps://".to_owned())
        }
        other => Err(format!("{other}:// is not spoken here")),
    });
    let mailbox = table.text("mailbox");
    let poll = table.span("poll", Span::seconds(60), POLL_MIN..=POLL_MAX);
    let idle = table.span("idle", Span::minutes(5), IDLE_MIN..=IDLE_MAX);
    if !table.has("user") && !table.has("password-file") {
        table.missing("user", "a mailbox opens for a user and a password-file");
    }
    table.done();
    Some(Way::Imap(Imap {
        server: server?,
        mailbox: mailbox.map_or_else(|| "INBOX".to_owned(), |text| text.is),
        poll,
        idle,
    }))
}

/// Where the server is, how to talk to it, and as whom.
fn server(
    table: &Table<'_>,
    scheme: &str,
    example: &str,
    judge: impl Fn(&Address) -> Result<(Security, u16), String>,
) -> Option<Server> {
    let url = table.needed("url", example);
    let user = table.text("user");
    let password_file = table.text("password-file");
    match (&user, &password_file) {
        (Some(user), None) if !table.has("password-file") => {
            let help = "write the password into a file of its own: password-file = \"mail.secret\"";
            table.faults().refuse(&user.at, "a user needs a password-file", help);
        }
        (None, Some(password)) if !table.has("user") => {
            let help = "add user = \"…\", or take password-file out";
            table.faults().refuse(&password.at, "a password needs a user", help);
        }
        (Some(_) | None, Some(_) | None) => {}
    }
    let ca = table.text("ca");
    let url = url?;
    let parts = address::parse(&url.is).and_then(|address| {
        let (security, port) = judge(&address)?;
        if matches!(address.path.as_str(), "" | "/") {
            Ok((address, security, port))
        } else {
            Err("nothing may follow the port".to_owned())
        }
    });
    match parts {
        Ok((address, security, port)) => Some(Server {
            port: address.port.unwrap_or(port),
            host: address.host,
            security,
            user: user.map(|text| text.is),
            password_file: password_file.map(|text| text.is),
            ca: ca.map(|text| text.is),
        }),
        Err(why) => {
            let title = format!("{} is not the address of an {scheme} server: {why}", url.is);
            table.faults().refuse(&url.at, title, example);
            None
        }
    }
}

fn check_mail(table: &Table<'_>, mail: &Placed<String>) {
    if let Some(why) = address::wrong_mail(&mail.is) {
        let title = format!("{} is not a mail address", mail.is);
        table.faults().refuse(&mail.at, title, why);
    }
}
