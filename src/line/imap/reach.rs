//! The way to a mail server: TCP, then TLS as the settings say, the greeting and the login.
//!
//! Where the settings ask for TLS, nothing but the request for it is said in the clear.

use std::fmt;
use std::path::Path;

use async_imap::Client;
use async_imap::error::Error;
use async_imap::imap_proto::{Response, Status};
use rustls::pki_types::ServerName;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

use super::Inbox;
use super::patience::Patience;
use super::trouble::{Trouble, not_a_goodbye, silent, within};
use crate::config::lines::{Security, Server};
use crate::line::{secret, trust};

/// A connection, in the clear or not.
pub(super) trait Wire: AsyncRead + AsyncWrite + Unpin + Send + fmt::Debug {}

impl<T: AsyncRead + AsyncWrite + Unpin + Send + fmt::Debug> Wire for T {}

pub(super) type Stream = Box<dyn Wire>;

/// Comes back logged in, with the host and port for messages.
pub(super) async fn reach(inbox: &Inbox) -> Result<(async_imap::Session<Stream>, String), Trouble> {
    let server = &inbox.line.server;
    let patience = inbox.patience;
    let place = format!("{}:{}", server.host, server.port);
    let (user, password) = login(inbox)?;
    let reached = TcpStream::connect((server.host.as_str(), server.port));
    let tcp = within(&place, "connecting", patience.connect, reached).await?;
    let _slower_without = tcp.set_nodelay(true);
    let client = match server.security {
        Security::Plain => greeted(&place, patience, Box::new(tcp)).await?,
        Security::Tls => {
            let stream = encrypted(&place, inbox, Box::new(tcp)).await?;
            greeted(&place, patience, stream).await?
        }
        Security::StartTls => {
            let mut open = greeted(&place, patience, Box::new(tcp)).await?;
            let start = open.run_command_and_check_ok("STARTTLS", None);
            within(&place, "asking for TLS", patience.answer, start).await?;
            // What the server said too early, in the clear, is thrown away with `open`.
            Client::new(encrypted(&place, inbox, open.into_inner()).await?)
        }
    };
    // Nothing about what follows may be in the clear by mistake: `client` is as the settings say.
    let logged_in = tokio::time::timeout(patience.answer, client.login(&user, password.expose()));
    let inner = match logged_in.await {
        Err(_) => return Err(silent(&place, "logging in", patience.answer)),
        Ok(Ok(session)) => session,
        Ok(Err((error @ Error::No(_), _))) => {
            return Err(Trouble::refused(&place, &user, &error));
        }
        Ok(Err((error, _))) => return Err(Trouble::from_imap(&place, "logging in", &error)),
    };
    Ok((inner, place))
}

/// The user's name and password, read anew each time: a corrected file needs no restart.
fn login(inbox: &Inbox) -> Result<(String, secret::Secret), Trouble> {
    let Server { user, password_file, .. } = &inbox.line.server;
    let (Some(user), Some(file)) = (user, password_file) else {
        return Err(Trouble::new(format!(
            "line {} has no user or no password-file: a mailbox cannot be read without",
            inbox.name
        )));
    };
    let password = secret::read(&inbox.base, inbox.credentials.as_deref(), file);
    Ok((user.clone(), password.map_err(Trouble::new)?))
}

/// A server speaks first; one that does not is not a mail server, or is ill.
async fn greeted(
    place: &str,
    patience: Patience,
    stream: Stream,
) -> Result<Client<Stream>, Trouble> {
    let mut client = Client::new(stream);
    let doing = "waiting for its greeting";
    let greeting = within(place, doing, patience.answer, client.read_response()).await?;
    let Some(greeting) = greeting else {
        return Err(Trouble::from_imap(place, doing, &Error::ConnectionLost));
    };
    not_a_goodbye(place, greeting.parsed())?;
    if let Response::Data { status: Status::Ok, .. } = greeting.parsed() {
        return Ok(client);
    }
    Err(Trouble::new(format!("{place} does not greet as a mail server (IMAP) does; check url")))
}

async fn encrypted(place: &str, inbox: &Inbox, stream: Stream) -> Result<Stream, Trouble> {
    let server = &inbox.line.server;
    let ca = server.ca.as_ref().map(|ca| inbox.base.join(Path::new(ca)));
    let config = trust::client(ca.as_deref()).map_err(Trouble::new)?;
    let name = ServerName::try_from(server.host.clone()).map_err(|_| {
        Trouble::new(format!("{} is not a name a certificate can have", server.host))
    })?;
    let shaken = TlsConnector::from(config).connect(name, stream);
    let stream = within(place, "settling TLS", inbox.patience.connect, shaken).await?;
    Ok(Box::new(stream))
}
