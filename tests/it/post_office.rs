//! A mail server stand-in on loopback that keeps every mail and misbehaves as it is told.
//!
//! It offers neither 8BITMIME nor SMTPUTF8, so a mail that needs them shows. `tls/` holds a test
//! authority, and a server certificate by it for localhost and 127.0.0.1; both are good for a
//! hundred years and the authority's key is thrown away.

use std::collections::{BTreeMap, VecDeque};
use std::io::Result;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use base64::Engine;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use tokio_rustls::TlsAcceptor;

pub(crate) const CA: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/tls/ca.pem");

/// A mail as it came in: envelope and bytes, dot-stuffing undone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mail {
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) raw: String,
}

/// What the server does on one connection. A mail is kept where a real server might keep it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Manner {
    #[default]
    Accept,
    /// Takes the connection and says nothing.
    NeverGreet,
    /// Refuses to talk at all.
    GreetWith(&'static str),
    /// Keeps the mail, then says nothing.
    HangAfterDot,
    /// Closes the connection once the mail has begun.
    DropInData,
    /// Closes the connection instead of confirming; keeps the mail.
    DropAfterDot,
    /// Answers the whole mail so and does not keep it.
    AnswerMail(&'static str),
    /// Answers DATA so.
    AnswerData(&'static str),
    /// Keeps and confirms the mail, but never says goodbye.
    HangAtQuit,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Cover {
    Plain,
    StartTls,
    Tls,
}

#[derive(Default)]
struct Script {
    next: VecDeque<Manner>,
    refused: BTreeMap<String, &'static str>,
    login: Option<(String, String)>,
    connections: usize,
}

#[derive(Clone)]
struct Desk {
    script: Arc<Mutex<Script>>,
    mails: watch::Sender<Vec<Mail>>,
    cover: Cover,
}

pub(crate) struct PostOffice {
    port: u16,
    desk: Desk,
    door: tokio::task::JoinHandle<()>,
}

impl Drop for PostOffice {
    fn drop(&mut self) {
        self.door.abort();
    }
}

impl PostOffice {
    /// Opens on a free port of 127.0.0.1.
    pub(crate) async fn start() -> Self {
        Self::start_at(0, Cover::Plain).await
    }

    pub(crate) async fn start_at(port: u16, cover: Cover) -> Self {
        let listener = TcpListener::bind(("127.0.0.1", port)).await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let desk = Desk { script: Arc::default(), mails: watch::Sender::new(Vec::new()), cover };
        let door = tokio::spawn(desk.clone().open(listener));
        Self { port, desk, door }
    }

    /// Closes the door; a later start can have the port again.
    pub(crate) async fn close(mut self) {
        self.door.abort();
        let _ = (&mut self.door).await;
    }

    pub(crate) fn port(&self) -> u16 {
        self.port
    }

    /// The next connection that nobody has spoken for is treated so.
    pub(crate) fn next(&self, manner: Manner) {
        self.desk.script.lock().unwrap().next.push_back(manner);
    }

    /// From now on `address` is answered with `answer`, such as `550 5.1.1 nobody here`.
    pub(crate) fn refuse(&self, address: &str, answer: &'static str) {
        let mut script = self.desk.script.lock().unwrap();
        script.refused.insert(address.to_owned(), answer);
    }

    /// From now on a login is wanted before any mail.
    pub(crate) fn want_login(&self, user: &str, password: &str) {
        let login = Some((user.to_owned(), password.to_owned()));
        self.desk.script.lock().unwrap().login = login;
    }

    pub(crate) fn connections(&self) -> usize {
        self.desk.script.lock().unwrap().connections
    }

    pub(crate) fn mails(&self) -> Vec<Mail> {
        self.desk.mails.borrow().clone()
    }

    /// Waits until at least `n` mails are here; a test fails if they are not by the deadline.
    pub(crate) async fn wait_for(&self, n: usize, deadline: Duration) -> Vec<Mail> {
        let mut here = self.desk.mails.subscribe();
        let came = tokio::time::timeout(deadline, here.wait_for(|mails| mails.len() >= n)).await;
        assert!(came.is_ok(), "{n} mails expected: {:#?}", self.mails());
        self.mails()
    }
}

impl Desk {
    async fn open(self, listener: TcpListener) {
        while let Ok((link, _)) = listener.accept().await {
            let manner = {
                let mut script = self.script.lock().unwrap();
                script.connections += 1;
                script.next.pop_front().unwrap_or_default()
            };
            let desk = self.clone();
            tokio::spawn(async move {
                // A peer that goes away in the middle is part of the game.
                let _ = desk.receive(link, manner).await;
            });
        }
    }

    async fn receive(self, link: TcpStream, manner: Manner) -> Result<()> {
        if self.cover == Cover::Tls {
            let link = acceptor().accept(link).await?;
            return self.talk(&mut BufReader::new(link), manner, true).await.map(drop);
        }
        let mut link = BufReader::new(link);
        if self.talk(&mut link, manner, true).await? == Next::StartTls {
            let link = acceptor().accept(link.into_inner()).await?;
            self.talk(&mut BufReader::new(link), manner, false).await?;
        }
        Ok(())
    }

    async fn talk<L>(&self, link: &mut BufReader<L>, manner: Manner, greet: bool) -> Result<Next>
    where
        L: AsyncRead + AsyncWrite + Unpin,
    {
        if manner == Manner::NeverGreet {
            return until_gone(link).await;
        }
        if let Manner::GreetWith(words) = manner {
            return say(link, words).await.map(|()| Next::Done);
        }
        if greet {
            say(link, "220 post office of Hollow Bank").await?;
        }
        let (mut from, mut to) = (String::new(), String::new());
        let mut known = self.script.lock().unwrap().login.is_none();
        loop {
            let line = hear(link).await?;
            let (verb, rest) = line.split_once([' ', ':']).unwrap_or((line.as_str(), ""));
            match verb.to_ascii_uppercase().as_str() {
                "" => return Ok(Next::Done),
                "EHLO" if self.cover == Cover::StartTls && greet => {
                    say(link, "250-post office\r\n250 STARTTLS").await?;
                }
                "EHLO" => say(link, "250-post office\r\n250 AUTH PLAIN").await?,
                "STARTTLS" => {
                    say(link, "220 go on").await?;
                    return Ok(Next::StartTls);
                }
                "AUTH" => {
                    known = self.is_login(rest);
                    let answer = if known { "235 welcome" } else { "535 5.7.8 wrong password" };
                    say(link, answer).await?;
                }
                "MAIL" if !known => say(link, "530 5.7.0 who are you").await?,
                "MAIL" => {
                    from = in_brackets(rest);
                    say(link, "250 ok").await?;
                }
                "RCPT" => {
                    to = in_brackets(rest);
                    let refused = self.script.lock().unwrap().refused.get(&to).copied();
                    say(link, refused.unwrap_or("250 ok")).await?;
                }
                "DATA" => {
                    let mail = (from.clone(), to.clone());
                    let next = self.take_in(link, manner, mail).await?;
                    if next != Next::Talk {
                        return Ok(next);
                    }
                }
                "QUIT" if manner == Manner::HangAtQuit => return until_gone(link).await,
                "QUIT" => return say(link, "221 good night").await.map(|()| Next::Done),
                _ => say(link, "502 not here").await?,
            }
        }
    }

    async fn take_in<L>(
        &self,
        link: &mut BufReader<L>,
        manner: Manner,
        (from, to): (String, String),
    ) -> Result<Next>
    where
        L: AsyncRead + AsyncWrite + Unpin,
    {
        if let Manner::AnswerData(words) = manner {
            return say(link, words).await.map(|()| Next::Talk);
        }
        say(link, "354 go on").await?;
        let mut raw = String::new();
        loop {
            let mut line = String::new();
            if link.read_line(&mut line).await? == 0 || manner == Manner::DropInData {
                return Ok(Next::Done);
            }
            if line == ".\r\n" {
                break;
            }
            raw.push_str(line.strip_prefix('.').unwrap_or(&line));
        }
        if let Manner::AnswerMail(words) = manner {
            return say(link, words).await.map(|()| Next::Talk);
        }
        self.mails.send_modify(|mails| mails.push(Mail { from, to, raw }));
        if manner == Manner::HangAfterDot {
            return until_gone(link).await;
        }
        if manner == Manner::DropAfterDot {
            return Ok(Next::Done);
        }
        say(link, "250 2.0.0 kept").await.map(|()| Next::Talk)
    }

    /// `rest` is `PLAIN` and base64 of NUL user NUL password (RFC 4616).
    fn is_login(&self, rest: &str) -> bool {
        let coded = rest.rsplit(' ').next().unwrap_or_default();
        let said = base64::engine::general_purpose::STANDARD.decode(coded).unwrap_or_default();
        let script = self.script.lock().unwrap();
        let (user, password) = script.login.as_ref().unwrap();
        said == format!("\0{user}\0{password}").into_bytes()
    }
}

#[derive(PartialEq, Eq)]
enum Next {
    Talk,
    StartTls,
    Done,
}

async fn say<L: AsyncWrite + Unpin>(link: &mut L, words: &str) -> Result<()> {
    link.write_all(format!("{words}\r\n").as_bytes()).await?;
    link.flush().await
}

async fn hear<L: AsyncRead + Unpin>(link: &mut BufReader<L>) -> Result<String> {
    let mut line = String::new();
    link.read_line(&mut line).await?;
    Ok(line.trim_end().to_owned())
}

/// Says nothing more and waits for the other side to give up.
async fn until_gone<L: AsyncRead + Unpin>(link: &mut BufReader<L>) -> Result<Next> {
    let mut rest = [0; 1024];
    while link.read(&mut rest).await? > 0 {}
    Ok(Next::Done)
}

fn in_brackets(text: &str) -> String {
    let inside = text.split_once('<').and_then(|(_, rest)| rest.split_once('>'));
    inside.map(|(address, _)| address.to_owned()).unwrap_or_default()
}

fn acceptor() -> TlsAcceptor {
    let chain = CertificateDer::from_pem_slice(include_bytes!("tls/server.pem")).unwrap();
    let key = PrivateKeyDer::from_pem_slice(include_bytes!("tls/server.key")).unwrap();
    let ring = Arc::new(rustls::crypto::ring::default_provider());
    let config = rustls::ServerConfig::builder_with_provider(ring)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(vec![chain], key)
        .unwrap();
    TlsAcceptor::from(Arc::new(config))
}
