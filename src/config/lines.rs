//! The ways out to people and back. Secrets are named by file here and read by the lines alone.

use crate::plain::ids::LineName;
use crate::plain::moment::Span;

/// `[[line]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub name: LineName,
    pub way: Way,
    /// It wakes whoever it reaches: only what is urgent goes over it, where there is another.
    pub rings: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    Smtp(Smtp),
    Imap(Imap),
    SmsHttp(SmsHttp),
    Webhook(Webhook),
    /// A light or a siren on the farm's own broker: works with the internet down.
    Siren(Siren),
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
    pub letters: Letters,
}

/// Which letters a text message may have. Neither ever has one that would halve it (standards.md SM-06).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Letters {
    /// Those of the alphabet of text messages that count once (3GPP TS 23.038, 6.2.1).
    #[default]
    Gsm,
    /// Plain ones alone, for a gateway or telephone that spoils the rest.
    Plain,
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

/// `kind = "mqtt"`: one topic that always says how things stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Siren {
    pub topic: String,
    /// What is published for each of `Stands`, in its order.
    pub say: [String; 5],
}

/// How things stand in the yard, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stands {
    Quiet,
    /// A line, a gateway or a sensor is ill.
    Ill,
    /// Somebody is wanted at a dam, though not at once, or is on the way.
    Near,
    /// Somebody must go now, and nobody has answered.
    Now,
    /// A person is in trouble.
    Person,
}

impl Stands {
    pub const ALL: [Self; 5] = [Self::Quiet, Self::Ill, Self::Near, Self::Now, Self::Person];

    /// The word of the settings, and what is said where they say nothing.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Quiet => "quiet",
            Self::Ill => "ill",
            Self::Near => "near",
            Self::Now => "now",
            Self::Person => "person",
        }
    }
}
