//! The ways out to people and back. Secrets are named by file here and read by the lines alone.

use crate::plain::ids::LineName;
use crate::plain::moment::Span;

/// `[[line]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub name: LineName,
    pub way: Way,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    Smtp(Smtp),
    Imap(Imap),
    SmsHttp(SmsHttp),
    Webhook(Webhook),
    /// Named in the settings, but not something this version can use.
    NotYet {
        kind: String,
    },
}

/// Where a mail server listens and how to talk to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Server {
    pub host: String,
    pub port: u16,
    pub security: Security,
    pub user: Option<String>,
    pub password_file: Option<String>,
    /// A PEM file of certificate authorities to trust besides the system's.
    pub ca: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Security {
    /// No encryption: sensible on loopback only.
    Plain,
    /// Plain first, then STARTTLS, which must succeed.
    StartTls,
    /// TLS from the first byte.
    Tls,
}

/// `kind = "smtp"`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Smtp {
    pub server: Server,
    /// The address mails come from; its domain ends every Message-ID.
    pub from: String,
    /// Where replies are read, if not at `from`.
    pub reply_to: Option<String>,
    /// The whole of one send, from connecting to the last answer.
    pub timeout: Span,
}

/// `kind = "imap"`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Imap {
    pub server: Server,
    pub mailbox: String,
    /// How often to look where the server does not tell (no IDLE), and as a safety net where it does.
    pub poll: Span,
    /// How long one IDLE lasts before it is asked again; at most 29 minutes (RFC 2177).
    pub idle: Span,
}

/// `kind = "sms-http"`: a text gateway described by the settings alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SmsHttp {
    pub url: String,
    pub method: String,
    /// Header names and values; `{secret}` is replaced.
    pub headers: Vec<(String, String)>,
    /// `{to}`, `{text}` and `{id}` are replaced, escaped as `escape` says.
    pub body: String,
    pub escape: Escape,
    pub secret_file: Option<String>,
    pub success: SmsSuccess,
    pub timeout: Span,
    pub allow_private: bool,
}

/// How values are made safe for the body they are put into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Escape {
    Json,
    Form,
    None,
}

/// What a gateway's answer must look like for the text to count as taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SmsSuccess {
    /// Accepted status codes; empty means any 2xx.
    pub status: Vec<u16>,
    /// A text the answer's body must contain, if given.
    pub contains: Option<String>,
}

/// `kind = "webhook"`: every alert's life is posted here, signed by Standard Webhooks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Webhook {
    pub url: String,
    pub secret_file: Option<String>,
    pub timeout: Span,
    pub allow_private: bool,
}
