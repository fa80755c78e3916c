//! Mails out, against a server that behaves and one that does not.

use std::path::Path;

use futures_util::future::join_all;
use lowbell::alarm::message::{Message, MessageKind};
use lowbell::config::lines::{Security, Server, Smtp};
use lowbell::line::Attempt;
use lowbell::line::secret::Secret;
use lowbell::line::smtp::{compose, send};
use lowbell::plain::moment::Span;
use mail_parser::{HeaderValue, MessageParser};

use super::{AMPLE, DEADLINE, FAIR, SHORT, closed_port, message, with_ring};
use crate::post_office::{CA, Cover, Mail, Manner, PostOffice};

const ANA: &str = "ana@hollowbank.example";

#[tokio::test]
async fn a_mail_arrives_whole_and_once() {
    let office = PostOffice::start().await;
    let message = to_ana();
    assert_eq!(try_once(&office, AMPLE, &message).await, Attempt::Taken);
    let mails = office.wait_for(1, DEADLINE).await;
    let expected = "\
Date: Wed, 25 Nov 2026 02:05:09 +0000\r
From: lowbell@hollowbank.example\r
To: ana@hollowbank.example\r
Message-ID: <lowbell.7.12@hollowbank.example>\r
Subject: 114 home field: second stage too long [3]\r
Auto-Submitted: auto-generated\r
MIME-Version: 1.0\r
Content-Type: text/plain; charset=utf-8\r
Reply-To: answers@hollowbank.example\r
Content-Transfer-Encoding: quoted-printable\r
\r
114 home field: water bag 02:05, no calf. Go and look.\r
";
    let expected = Mail {
        from: "lowbell@hollowbank.example".to_owned(),
        to: ANA.to_owned(),
        raw: expected.to_owned(),
    };
    assert_eq!(mails, [expected]);
}

#[tokio::test]
async fn one_bad_address_does_not_stop_nine_good_ones() {
    let office = PostOffice::start().await;
    office.refuse("p4@hollowbank.example", "550 5.1.1 nobody of that name");
    let line = line(office.port(), AMPLE);
    let messages: Vec<Message> = (0..10)
        .map(|n| Message {
            id: format!("lowbell.7.{n}"),
            ..message("Ana", &format!("p{n}@hollowbank.example"))
        })
        .collect();
    let tries = messages.iter().map(|m| send(&line, None, Path::new("."), m));
    for (n, attempt) in join_all(tries).await.into_iter().enumerate() {
        let expected = if n == 4 {
            Attempt::Never {
                why: "the mail server refused the recipient p4@hollowbank.example: \
                      permanent error (550): 5.1.1 nobody of that name"
                    .to_owned(),
            }
        } else {
            Attempt::Taken
        };
        assert_eq!(attempt, expected, "recipient {n}");
    }
    let mut reached: Vec<String> = office.mails().into_iter().map(|mail| mail.to).collect();
    reached.sort();
    let meant = [0, 1, 2, 3, 5, 6, 7, 8, 9].map(|n| format!("p{n}@hollowbank.example"));
    assert_eq!(reached, meant);
}

#[tokio::test]
async fn a_refusal_for_now_is_tried_again_and_a_refusal_for_ever_is_not() {
    let office = PostOffice::start().await;
    office.refuse(ANA, "451 4.7.1 come back later");
    assert_eq!(
        try_once(&office, AMPLE, &to_ana()).await,
        Attempt::Later {
            why: "the mail server refused the recipient ana@hollowbank.example for now: \
                  transient error (451): 4.7.1 come back later"
                .to_owned(),
            after: None
        }
    );
    let tom = message("Tom", "tom@hollowbank.example");
    office.next(Manner::AnswerMail("554 5.6.0 not this"));
    assert_eq!(
        try_once(&office, AMPLE, &tom).await,
        Attempt::Never {
            why: "the mail server refused the mail: permanent error (554): 5.6.0 not this"
                .to_owned()
        }
    );
    office.next(Manner::AnswerMail("452 4.3.1 full"));
    assert_eq!(
        try_once(&office, AMPLE, &tom).await,
        Attempt::Later {
            why: "the mail server refused the mail for now: transient error (452): 4.3.1 full"
                .to_owned(),
            after: None
        }
    );
    office.next(Manner::GreetWith("421 4.3.2 closed for the night"));
    assert_eq!(
        try_once(&office, AMPLE, &tom).await,
        Attempt::Later {
            why: "the mail server refused to talk to us for now: \
                  transient error (421): 4.3.2 closed for the night"
                .to_owned(),
            after: None
        }
    );
    assert_eq!(office.mails(), []);
}

#[tokio::test]
async fn a_server_that_never_greets_is_left_when_patience_ends() {
    let office = PostOffice::start().await;
    office.next(Manner::NeverGreet);
    assert_eq!(
        try_once(&office, SHORT, &to_ana()).await,
        Attempt::Later {
            why: format!(
                "the mail server 127.0.0.1:{} did not take the mail within 300 ms",
                office.port()
            ),
            after: None
        }
    );
    assert_eq!(try_once(&office, AMPLE, &to_ana()).await, Attempt::Taken);
}

#[tokio::test]
async fn a_server_that_takes_the_mail_and_says_nothing_leaves_us_unsure_and_the_retry_is_the_same_mail()
 {
    let office = PostOffice::start().await;
    office.next(Manner::HangAfterDot);
    assert_eq!(
        try_once(&office, FAIR, &to_ana()).await,
        Attempt::Unsure {
            why: format!(
                "the mail server 127.0.0.1:{} has the mail but did not confirm it within 2 s",
                office.port()
            )
        }
    );
    assert_eq!(try_once(&office, AMPLE, &to_ana()).await, Attempt::Taken);
    let mails = office.wait_for(2, DEADLINE).await;
    assert_eq!(mails.len(), 2);
    assert_eq!(mails[0], mails[1]);
    assert!(mails[0].raw.contains("\r\nMessage-ID: <lowbell.7.12@hollowbank.example>\r\n"));
}

#[tokio::test]
async fn a_link_lost_while_the_mail_goes_over_leaves_us_unsure() {
    let office = PostOffice::start().await;
    for manner in [Manner::DropInData, Manner::DropAfterDot] {
        office.next(manner);
        let attempt = try_once(&office, AMPLE, &to_ana()).await;
        let Attempt::Unsure { why } = attempt else {
            panic!("{manner:?} gave {attempt:?}");
        };
        let begins = "the link broke before the mail server confirmed the mail: ";
        assert!(why.starts_with(begins), "{why}");
    }
}

/// A library's "positive" answers begin with 2 or 3; only 250 means that the mail is taken.
#[tokio::test]
async fn any_other_positive_answer_to_the_mail_is_not_taken_for_success() {
    let office = PostOffice::start().await;
    for (answer, code) in [("354 go on", 354), ("251 elsewhere", 251), ("220 hello", 220)] {
        office.next(Manner::AnswerMail(answer));
        assert_eq!(
            try_once(&office, AMPLE, &to_ana()).await,
            Attempt::Unsure {
                why: format!("the mail server answered the mail with {code}, not 250")
            }
        );
    }
    office.next(Manner::AnswerData("250 ok"));
    assert_eq!(
        try_once(&office, AMPLE, &to_ana()).await,
        Attempt::Later {
            why: "the mail server answered DATA with 250: ok".to_owned(),
            after: None
        }
    );
    assert_eq!(office.mails(), []);
}

/// With a pool of connections, the late answer to the first mail was read as the answer to the
/// second.
#[tokio::test]
async fn a_try_that_was_given_up_does_not_make_the_next_refusal_look_like_success() {
    let office = PostOffice::start().await;
    office.next(Manner::HangAfterDot);
    office.next(Manner::AnswerMail("554 5.6.0 not this"));
    let first = try_once(&office, FAIR, &to_ana()).await;
    assert!(matches!(first, Attempt::Unsure { .. }), "{first:?}");
    let second = try_once(&office, AMPLE, &to_ana()).await;
    assert!(matches!(second, Attempt::Never { .. }), "{second:?}");
    assert_eq!(office.connections(), 2, "a connection is used once");
}

#[tokio::test]
async fn a_server_that_does_not_say_goodbye_has_still_taken_the_mail() {
    let office = PostOffice::start().await;
    office.next(Manner::HangAtQuit);
    assert_eq!(try_once(&office, AMPLE, &to_ana()).await, Attempt::Taken);
    assert_eq!(office.mails().len(), 1);
}

#[tokio::test]
async fn a_server_that_is_away_is_tried_again_and_takes_the_mail_when_it_is_back() {
    let office = PostOffice::start().await;
    let port = office.port();
    office.close().await;
    let line = line(port, AMPLE);
    let attempt = send(&line, None, Path::new("."), &to_ana()).await;
    let Attempt::Later { why, after: None } = attempt else {
        panic!("{attempt:?}");
    };
    assert_eq!(
        why,
        "no link to the mail server: Connection error: Connection refused (os error 111)"
    );
    let office = PostOffice::start_at(port, Cover::Plain).await;
    let attempt = send(&line, None, Path::new("."), &to_ana()).await;
    assert_eq!(attempt, Attempt::Taken);
    assert_eq!(office.mails().len(), 1);
}

#[tokio::test]
async fn the_password_opens_the_door_and_a_wrong_one_says_what_to_check() {
    let office = PostOffice::start().await;
    office.want_login("lowbell", "bellwether");
    let mut line = line(office.port(), AMPLE);
    line.server.user = Some("lowbell".to_owned());
    let with = async |password: Option<&str>| {
        let secret = password.map(Secret::new);
        send(&line, secret.as_ref(), Path::new("."), &to_ana()).await
    };
    assert_eq!(with(Some("bellwether")).await, Attempt::Taken);
    assert_eq!(
        with(Some("cowbell")).await,
        Attempt::Never {
            why: "the mail server refused the login (check user and password-file): \
                  permanent error (535): 5.7.8 wrong password"
                .to_owned()
        }
    );
    assert_eq!(
        with(None).await,
        Attempt::Later {
            why: "the mail line has a user, but no password was read; check password-file"
                .to_owned(),
            after: None
        }
    );
    assert_eq!(office.mails().len(), 1);
}

#[tokio::test]
async fn tls_trusts_the_farms_own_authority_and_nobody_unknown() {
    with_ring();
    let base = Path::new(CA).parent().unwrap();
    for (cover, security) in [(Cover::Tls, Security::Tls), (Cover::StartTls, Security::StartTls)] {
        let office = PostOffice::start_at(0, cover).await;
        let mut line = line(office.port(), AMPLE);
        line.server.security = security;
        for host in ["localhost", "127.0.0.1"] {
            line.server.host = host.to_owned();
            line.server.ca = Some("ca.pem".to_owned());
            let attempt = send(&line, None, base, &to_ana()).await;
            assert_eq!(attempt, Attempt::Taken, "{cover:?} {host}");
        }
        assert_eq!(office.mails().len(), 2);
        line.server.ca = None;
        let attempt = send(&line, None, base, &to_ana()).await;
        let Attempt::Later { why, .. } = attempt else {
            panic!("{cover:?}: {attempt:?}");
        };
        assert!(why.contains("UnknownIssuer"), "{why}");
        assert_eq!(office.mails().len(), 2);
    }
}

#[tokio::test]
async fn without_starttls_nothing_goes_over_in_the_clear() {
    with_ring();
    let office = PostOffice::start().await;
    office.want_login("lowbell", "bellwether");
    let mut line = line(office.port(), AMPLE);
    line.server.security = Security::StartTls;
    line.server.user = Some("lowbell".to_owned());
    let secret = Secret::new("bellwether");
    let attempt = send(&line, Some(&secret), Path::new("."), &to_ana()).await;
    assert_eq!(
        attempt,
        Attempt::Never {
            why: "the mail server and the settings do not fit at STARTTLS: \
                  internal client error: STARTTLS is not supported on this server"
                .to_owned()
        }
    );
    assert_eq!(office.mails(), []);
}

#[tokio::test]
async fn a_ca_file_that_cannot_be_used_is_named() {
    with_ring();
    let base = tempfile::tempdir().unwrap();
    let place = base.path().join("farm-ca.pem");
    let mut line = line(closed_port().await, AMPLE);
    line.server.security = Security::Tls;
    line.server.ca = Some("farm-ca.pem".to_owned());
    let shown = place.display();
    let missing = "No such file or directory (os error 2)";
    let attempt = send(&line, None, base.path(), &to_ana()).await;
    let why = format!("the ca file {shown} cannot be read: {missing}");
    assert_eq!(attempt, Attempt::Never { why });
    std::fs::write(&place, "bell").unwrap();
    let attempt = send(&line, None, base.path(), &to_ana()).await;
    let why = format!("the ca file {shown} holds no certificate; it should be in PEM form");
    assert_eq!(attempt, Attempt::Never { why });
}

/// RFC 3834 section 5.2 (EM-15), RFC 5322 section 3.6.4 (EM-07).
#[test]
fn an_answer_says_so_and_names_the_mail_that_it_answers() {
    for (kind, value) in [
        (MessageKind::Alert, "auto-generated"),
        (MessageKind::Taken, "auto-generated"),
        (MessageKind::Over, "auto-generated"),
        (MessageKind::Answer, "auto-replied"),
    ] {
        for parent in ["abc@phone.example", "<abc@phone.example>"] {
            let kind = kind.clone();
            let message = Message { kind, in_reply_to: Some(parent.to_owned()), ..to_ana() };
            let raw = raw(&message);
            let parsed = MessageParser::default().parse(raw.as_bytes()).unwrap();
            assert_eq!(parsed.header("Auto-Submitted").unwrap().as_text(), Some(value));
            assert_eq!(parsed.in_reply_to().as_text(), Some("abc@phone.example"));
            assert_eq!(parsed.references().as_text(), Some("abc@phone.example"));
            assert_eq!(parsed.message_id(), Some("lowbell.7.12@hollowbank.example"));
        }
    }
}

/// RFC 5322 section 2.1.1 (EM-01); a server without 8BITMIME takes ASCII only.
#[test]
fn any_text_goes_over_in_short_lines_of_ascii_and_comes_out_as_it_was() {
    let texts = [
        "114: 39.5 °C, Zoë sagt „schau nach“.\n".to_owned(),
        "x".repeat(5000),
        ".\n..\n. dots\nFrom here\n".to_owned(),
        "trailing  \n\ttabs\t\n=3D equals =\n".to_owned(),
        "no line break at the end".to_owned(),
        "\u{1F404}".repeat(400),
        String::new(),
    ];
    for text in texts {
        let message = Message {
            subject: format!("Kälbernacht {}", "lang ".repeat(60)),
            in_reply_to: Some(format!("{}@phone.example", "a".repeat(200))),
            text: text.clone(),
            ..to_ana()
        };
        let raw = raw(&message);
        assert!(raw.is_ascii());
        for line in raw.split("\r\n") {
            assert!(!line.contains(['\r', '\n']), "a bare line break: {line:?}");
            let cap = if line.contains("@phone.example") { 998 } else { 78 };
            assert!(line.len() <= cap, "{} characters: {line}", line.len());
        }
        let parsed = MessageParser::default().parse(raw.as_bytes()).unwrap();
        let body = parsed.body_text(0).unwrap().replace("\r\n", "\n");
        assert_eq!(body, text.trim_end_matches('\n'));
        let subject = parsed.subject().unwrap();
        assert!(subject.starts_with("Kälbernacht lang lang"), "{subject}");
    }
}

#[tokio::test]
async fn a_text_that_is_only_dots_arrives_as_it_was() {
    let office = PostOffice::start().await;
    let message = Message { text: ".\n..\n.end\n".to_owned(), ..to_ana() };
    assert_eq!(try_once(&office, AMPLE, &message).await, Attempt::Taken);
    let mails = office.wait_for(1, DEADLINE).await;
    let parsed = MessageParser::default().parse(mails[0].raw.as_bytes()).unwrap();
    assert_eq!(parsed.body_text(0).unwrap().trim_end(), ".\r\n..\r\n.end");
}

#[test]
fn nobody_can_put_a_header_into_a_mail() {
    let nasty = "late\r\nBcc: thief@elsewhere.example\n\n<b>\u{0}\u{b}\u{2028}x";
    let message = Message {
        subject: nasty.to_owned(),
        in_reply_to: Some("a@b>\r\nBcc: thief@elsewhere.example".to_owned()),
        ..to_ana()
    };
    let raw = raw(&message);
    let parsed = MessageParser::default().parse(raw.as_bytes()).unwrap();
    assert_eq!(parsed.subject(), Some("late Bcc: thief@elsewhere.example <b> x"));
    assert!(matches!(parsed.in_reply_to(), HeaderValue::Empty), "an unsafe id is left out");
    let names: Vec<&str> = parsed.headers().iter().map(|h| h.name()).collect();
    let meant = [
        "Date",
        "From",
        "To",
        "Message-ID",
        "Subject",
        "Auto-Submitted",
        "MIME-Version",
        "Content-Type",
        "Reply-To",
        "Content-Transfer-Encoding",
    ];
    assert_eq!(names, meant);
}

#[test]
fn an_address_or_id_that_would_break_the_mail_is_refused() {
    for (address, why) in [
        (
            "ana@hollowbank.example\r\nBcc: thief@elsewhere.example",
            "the mail address of Ana has a line break or control character in it; correct it in the settings",
        ),
        (
            "ana@hollowbank.example> NOTIFY=NEVER <x@y.example",
            "the mail address of Ana is not a mail address; correct it in the settings",
        ),
        ("ana", "the mail address of Ana is not a mail address; correct it in the settings"),
        (
            "ana@müller.example",
            "the mail address of Ana has letters that not every mail server takes (a domain has an xn-- form); correct it in the settings",
        ),
    ] {
        let fault = compose(&line(25, AMPLE), &message("Ana", address)).unwrap_err();
        assert_eq!(fault, why);
    }
    for id in ["", "a b", "a..b", "a>b", "a\r\nb", "a@b"] {
        let message = Message { id: id.to_owned(), ..to_ana() };
        let fault = compose(&line(25, AMPLE), &message).unwrap_err();
        assert_eq!(fault, format!("{id:?} cannot be part of a Message-ID"));
    }
    let mut line = line(25, AMPLE);
    line.from = "lowbell".to_owned();
    assert_eq!(
        compose(&line, &to_ana()).unwrap_err(),
        "the from of the mail line is not a mail address; write it like lowbell@hollowbank.example"
    );
}

/// One try; a test fails if it outlives every patience.
async fn try_once(office: &PostOffice, patience: Span, message: &Message) -> Attempt {
    let line = line(office.port(), patience);
    let attempt = send(&line, None, Path::new("."), message);
    tokio::time::timeout(DEADLINE, attempt).await.unwrap()
}

fn raw(message: &Message) -> String {
    let mail = compose(&line(25, AMPLE), message).unwrap();
    String::from_utf8(mail.formatted()).unwrap()
}

fn to_ana() -> Message {
    message("Ana", ANA)
}

fn line(port: u16, timeout: Span) -> Smtp {
    Smtp {
        server: Server {
            host: "127.0.0.1".to_owned(),
            port,
            security: Security::Plain,
            user: None,
            password_file: None,
            ca: None,
        },
        from: "lowbell@hollowbank.example".to_owned(),
        reply_to: Some("answers@hollowbank.example".to_owned()),
        timeout,
    }
}
