//! Answers by mail: the mailbox reader against a real IMAP server fed by a real SMTP server, and
//! against scripted servers for the faults that a real one will not show on demand.

use std::net::TcpListener as PortFinder;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use futures_util::StreamExt as _;
use lowbell::config::lines::{Imap, Security, Server};
use lowbell::line::imap::{Inbox, Patience};
use lowbell::line::{Arrival, Receipt};
use lowbell::plain::ids::LineName;
use lowbell::plain::moment::Span;
use lowbell::talk::letter::{MailPlace, MailProof, Reply, Sender};
use lowbell::watch::event::{Event, LineNews};
use tokio::io::{AsyncBufReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

use crate::servers::{self, DEADLINE};

#[tokio::test]
async fn a_reply_is_heard_at_once_and_marked_as_seen_once_confirmed() {
    let yard = Yard::new("idle");
    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    assert_eq!(reading.news().await, LineNews::Up);

    servers::deliver("idle", "ana@hollowbank.example", &servers::letter("av-01"));
    let (reply, receipt) = reading.reply().await;
    assert_eq!(reply.line, LineName::new("answers"));
    assert_eq!(reply.from, Sender::Mail("ana@hollowbank.example".to_owned()));
    assert!(reply.text.starts_with("going\n\nOn Wed, 25 Nov 2026"));
    let proof = proof(&reply);
    assert_eq!(proof.message_id.as_deref(), Some("av-01@phone.hollowbank.example"));
    assert_eq!(proof.in_reply_to, ["lowbell.9f3a.12@hollowbank.example"]);
    assert!(!proof.cut);
    assert_eq!(place(&reply).mailbox, "INBOX");
    assert_eq!(place(&reply).uid, 1);

    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    assert!(!eye.seen(1).await, "not before it is on disk");
    receipt.confirm();
    eye.until_seen(1).await;
    reading.end().await;
}

#[tokio::test]
async fn a_server_without_idle_is_asked_again_and_again() {
    let yard = Yard::new("poll");
    let mut eye = yard.eye(servers::imap_without_idle(), "INBOX").await;
    assert!(!eye.can("IDLE").await, "this server is not to say that it can");

    let mut inbox = yard.inbox(servers::imap_without_idle());
    inbox.line.poll = Span::seconds(1);
    let mut reading = Reading::begin(inbox);
    assert_eq!(reading.news().await, LineNews::Up);
    servers::deliver("poll", "tom@hollowbank.example", &servers::letter("av-15"));
    let (reply, receipt) = reading.reply().await;
    assert_eq!(reply.text, "going 7Q2F\n");
    receipt.confirm();
    eye.until_seen(1).await;
    reading.end().await;
}

#[tokio::test]
async fn what_was_confirmed_last_is_marked_before_leaving() {
    let yard = Yard::new("leaving");
    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    assert_eq!(reading.news().await, LineNews::Up);
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    eye.append("INBOX", &mail("one", "in")).await;
    let (_, receipt) = reading.reply().await;
    receipt.confirm();
    reading.end().await;
    eye.until_seen(1).await;
}

#[tokio::test]
async fn at_first_only_new_mail_and_unread_answers_to_ours_are_read() {
    let yard = Yard::new("first");
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    eye.append("INBOX", &mail("old", "Feed is due on Friday")).await;
    eye.append("INBOX", &servers::letter("av-01")).await;
    eye.append("INBOX", &servers::letter("style-below-quote")).await;
    eye.mark_seen(3).await;

    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(place(&reading.reply().await.0).uid, 2);
    eye.append("INBOX", &mail("new", "out")).await;
    let (reply, _) = reading.reply().await;
    assert_eq!((place(&reply).uid, reply.text.as_str()), (4, "out\n"));
    reading.end().await;
}

#[tokio::test]
async fn a_restart_goes_on_after_the_last_mail_that_was_journalled() {
    let yard = Yard::new("restart");
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    for word in ["in", "feet", "calf"] {
        eye.append("INBOX", &mail(word, word)).await;
    }
    let mut inbox = yard.inbox(servers::imap());
    inbox.from = Some(MailPlace { mailbox: "INBOX".to_owned(), validity: eye.validity, uid: 1 });
    let mut reading = Reading::begin(inbox);
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(reading.reply().await.0.text, "feet\n");
    assert_eq!(reading.reply().await.0.text, "calf\n");
    reading.end().await;
}

// RFC 3501 section 2.3.1.1: with another UIDVALIDITY, the same UID is another mail.
#[tokio::test]
async fn a_mailbox_numbered_anew_is_read_from_its_beginning() {
    let yard = Yard::new("anew");
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    eye.create("Answers").await;
    let mut inbox = yard.inbox(servers::imap());
    inbox.line.mailbox = "Answers".to_owned();
    let mut reading = Reading::begin(inbox.clone());
    assert_eq!(reading.news().await, LineNews::Up);
    eye.append("Answers", &mail("one", "in")).await;
    let (before, _) = reading.reply().await;
    assert_eq!(place(&before).uid, 1);
    reading.end().await;

    // Each step by a connection of its own: the server remembers within one what it deleted.
    yard.eye(servers::imap(), "INBOX").await.delete("Answers").await;
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    eye.create("Answers").await;
    eye.append("Answers", &mail("one", "in")).await;
    eye.append("Answers", &mail("two", "out")).await;
    inbox.from = Some(place(&before).clone());
    let mut reading = Reading::begin(inbox);
    assert_eq!(reading.news().await, LineNews::Up);
    let (one, _) = reading.reply().await;
    let (two, _) = reading.reply().await;
    assert_ne!(place(&one).validity, place(&before).validity);
    assert_eq!((place(&one).uid, one.text.as_str()), (1, "in\n"));
    assert_eq!((place(&two).uid, two.text.as_str()), (2, "out\n"));
    reading.end().await;
}

// A server may leave us waiting in a mailbox that is no more; looking now and then finds it out.
#[tokio::test]
async fn a_mailbox_numbered_anew_while_it_is_read_is_noticed() {
    let entered = AtomicUsize::new(0);
    let port = scripted(move |_, command| {
        if command.starts_with("SELECT") {
            let validity = 7 + entered.fetch_add(1, Ordering::SeqCst).min(1);
            Some(format!(
                "* OK [UIDVALIDITY {validity}] lasting\r\n* OK [UIDNEXT 5] next\r\nTAG OK in\r\n"
            ))
        } else if command.starts_with("UID FETCH 1:*") {
            Some("* 1 FETCH (UID 2 RFC822.SIZE 40)\r\nTAG OK listed\r\n".to_owned())
        } else if command.starts_with("UID FETCH 2 ") {
            Some(fetched(2, "From: ana@hollowbank.example\r\n\r\nin\r\n"))
        } else {
            None
        }
    })
    .await;
    let yard = Yard::offline("under-us");
    let mut inbox = yard.inbox(("127.0.0.1".to_owned(), port));
    inbox.line.poll = Span::seconds(1);
    let mut reading = Reading::begin(inbox);
    assert_eq!(reading.news().await, LineNews::Up);
    let (reply, _) = reading.reply().await;
    assert_eq!((place(&reply).validity, place(&reply).uid), (8, 2));
    reading.end().await;
}

#[tokio::test]
async fn of_a_reply_with_ten_megabytes_attached_the_words_are_read() {
    let yard = Yard::new("heavy");
    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    assert_eq!(reading.news().await, LineNews::Up);
    let mut heavy = "From: Tom <tom@hollowbank.example>\nMessage-ID: <heavy@x>\n\
        Content-Type: multipart/mixed; boundary=edge\n\n--edge\nContent-Type: text/plain\n\nfeet\n\
        --edge\nContent-Type: video/mp4; name=cow.mp4\n\
        Content-Disposition: attachment; filename=cow.mp4\n\
        Content-Transfer-Encoding: base64\n\n"
        .to_owned();
    let line = format!("{}\n", "QUJD".repeat(18));
    while heavy.len() < 10 * 1024 * 1024 {
        heavy.push_str(&line);
    }
    heavy.push_str("--edge--\n");
    servers::deliver("heavy", "tom@hollowbank.example", &heavy);
    let (reply, _) = reading.reply().await;
    assert_eq!(reply.text, "feet");
    assert!(proof(&reply).cut);
    // It does not stand in the way of the next.
    servers::deliver("heavy", "tom@hollowbank.example", &mail("next", "calf"));
    assert_eq!(reading.reply().await.0.text, "calf\n");
    reading.end().await;
}

#[tokio::test]
async fn a_mail_without_a_header_is_passed_over_by_name() {
    let yard = Yard::new("headless");
    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    assert_eq!(reading.news().await, LineNews::Up);
    let mut eye = yard.eye(servers::imap(), "INBOX").await;
    eye.append("INBOX", "\nno header at all\n").await;
    let (reply, receipt) = reading.reply().await;
    assert_eq!(reply.from, Sender::Mail(String::new()));
    assert_eq!((place(&reply).uid, reply.text.as_str()), (1, ""));
    receipt.confirm();
    eye.until_seen(1).await;
    reading.end().await;
}

#[tokio::test]
async fn a_server_that_stops_and_comes_back_is_told_once_each() {
    let yard = Yard::new("outage");
    let mut server = OwnServer::new();
    server.start().await;
    let mut reading = Reading::begin(yard.inbox(server.address()));
    assert_eq!(reading.news().await, LineNews::Up);
    let mut eye = yard.eye(server.address(), "INBOX").await;
    eye.append("INBOX", &mail("one", "in")).await;
    assert_eq!(reading.reply().await.0.text, "in\n");

    server.stop();
    let LineNews::Down { why } = reading.news().await else {
        panic!("a stopped server is down");
    };
    assert!(why.starts_with(&format!("127.0.0.1:{}", server.port)), "{why}");
    server.start().await;
    assert_eq!(reading.news().await, LineNews::Up, "and no second Down");
    let mut eye = yard.eye(server.address(), "INBOX").await;
    eye.append("INBOX", &mail("two", "out")).await;
    let (reply, _) = reading.reply().await;
    assert_eq!((place(&reply).uid, reply.text.as_str()), (2, "out\n"));
    reading.end().await;
}

#[tokio::test]
async fn a_wrong_password_is_said_clearly() {
    let yard = Yard::new("stranger");
    std::fs::write(yard.folder.path().join("mail.secret"), "wrong\n").unwrap();
    let (host, port) = servers::imap();
    let mut reading = Reading::begin(yard.inbox((host, port)));
    assert_eq!(
        reading.news().await,
        LineNews::Down {
            why: format!(
                "127.0.0.1:{port} refuses the user stranger or the password: \
                 [AUTHENTICATIONFAILED] Authentication failed.; check user and password-file"
            )
        }
    );
    // Putting it right needs no restart.
    yard.write_password();
    assert_eq!(reading.news().await, LineNews::Up);
    reading.end().await;
}

#[tokio::test]
async fn a_missing_password_file_is_named() {
    let yard = Yard::new("forgetful");
    let path = yard.folder.path().join("mail.secret");
    std::fs::remove_file(&path).unwrap();
    let mut reading = Reading::begin(yard.inbox(servers::imap()));
    let LineNews::Down { why } = reading.news().await else {
        panic!("nothing can be read without a password");
    };
    assert!(why.contains(&path.display().to_string()), "{why}");
    reading.end().await;
}

#[tokio::test]
async fn tls_is_believed_only_with_a_known_authority() {
    let yard = Yard::new("tls");
    for (security, address) in
        [(Security::Tls, servers::imaps()), (Security::StartTls, servers::imap())]
    {
        let mut inbox = yard.inbox(address);
        inbox.line.server.security = security;
        let mut stranger = Reading::begin(inbox.clone());
        let LineNews::Down { why } = stranger.news().await else {
            panic!("an unknown authority is not believed");
        };
        assert!(why.contains("settling TLS: invalid peer certificate: UnknownIssuer"), "{why}");
        stranger.end().await;

        inbox.line.server.ca = Some(servers::imap_ca().display().to_string());
        let mut known = Reading::begin(inbox);
        assert_eq!(known.news().await, LineNews::Up);
        known.end().await;
    }
}

#[tokio::test]
async fn a_server_that_accepts_and_says_nothing_is_down_and_told_once() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let third = Arc::new(Notify::new());
    let thrice = third.clone();
    let accepting = tokio::spawn(async move {
        let mut held = Vec::new();
        loop {
            held.push(listener.accept().await.unwrap());
            if held.len() == 3 {
                thrice.notify_one();
            }
        }
    });
    let yard = Yard::offline("mute");
    let mut inbox = yard.inbox(("127.0.0.1".to_owned(), port));
    inbox.patience.answer = Duration::from_millis(100);
    let mut reading = Reading::begin(inbox);
    assert_eq!(
        reading.news().await,
        LineNews::Down {
            why: format!("127.0.0.1:{port}, waiting for its greeting: no answer within 0.1 s")
        }
    );
    timeout(DEADLINE, third.notified()).await.unwrap();
    assert!(reading.arrivals.try_recv().is_err(), "told once an outage");
    reading.end().await;
    accepting.abort();
}

// The library has no limit of time on ending IDLE: a link that died while waiting would be for ever.
#[tokio::test]
async fn a_link_that_dies_while_waiting_is_found_out() {
    let port = scripted(|_, command| match command {
        "DONE" => Some(String::new()),
        _ => None,
    })
    .await;
    let yard = Yard::offline("dead");
    let mut inbox = yard.inbox(("127.0.0.1".to_owned(), port));
    inbox.line.idle = Span::seconds(1);
    inbox.patience.answer = Duration::from_millis(500);
    let mut reading = Reading::begin(inbox);
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(
        reading.news().await,
        LineNews::Down {
            why: format!("127.0.0.1:{port}, ending the wait: no answer within 0.5 s")
        }
    );
    reading.end().await;
}

// RFC 3501 section 7.3.1: a server may tell of new mail in any answer, and tells it once.
#[tokio::test]
async fn a_mail_told_of_in_passing_is_not_waited_for() {
    let listed = AtomicUsize::new(0);
    let port = scripted(move |_, command| {
        if command.starts_with("UID FETCH 5:*") {
            Some(match listed.fetch_add(1, Ordering::SeqCst) {
                0 => "* 1 EXISTS\r\nTAG OK listed\r\n".to_owned(),
                _ => "* 1 FETCH (UID 5 RFC822.SIZE 40)\r\nTAG OK listed\r\n".to_owned(),
            })
        } else if command.starts_with("UID FETCH 5 ") {
            Some(fetched(5, "From: ana@hollowbank.example\r\n\r\nin\r\n"))
        } else {
            None
        }
    })
    .await;
    let yard = Yard::offline("passing");
    let mut reading = Reading::begin(yard.inbox(("127.0.0.1".to_owned(), port)));
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(place(&reading.reply().await.0).uid, 5);
    reading.end().await;
}

#[tokio::test]
async fn a_mail_told_of_before_the_waiting_has_begun_is_not_waited_for() {
    let idled = Arc::new(AtomicUsize::new(0));
    let asked = idled.clone();
    let port = scripted(move |_, command| {
        if command == "IDLE" && idled.fetch_add(1, Ordering::SeqCst) == 0 {
            Some("* 1 EXISTS\r\n+ waiting\r\n".to_owned())
        } else if command.starts_with("UID FETCH 5:*") && asked.load(Ordering::SeqCst) > 0 {
            Some("* 1 FETCH (UID 5 RFC822.SIZE 40)\r\nTAG OK listed\r\n".to_owned())
        } else if command.starts_with("UID FETCH 5 ") {
            Some(fetched(5, "From: ana@hollowbank.example\r\n\r\nin\r\n"))
        } else {
            None
        }
    })
    .await;
    let yard = Yard::offline("hasty");
    let mut reading = Reading::begin(yard.inbox(("127.0.0.1".to_owned(), port)));
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(place(&reading.reply().await.0).uid, 5);
    reading.end().await;
}

// RFC 3501 section 7.1.5; the library hands it over as if it were news of mail.
#[tokio::test]
async fn a_goodbye_while_waiting_is_not_taken_for_mail() {
    let port = scripted(|_, command| match command {
        "IDLE" => Some("+ waiting\r\n* BYE cleaning the shed\r\n".to_owned()),
        _ => None,
    })
    .await;
    let yard = Yard::offline("goodbye");
    let mut reading = Reading::begin(yard.inbox(("127.0.0.1".to_owned(), port)));
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(
        reading.news().await,
        LineNews::Down { why: format!("127.0.0.1:{port} ends the connection: cleaning the shed") }
    );
    reading.end().await;
}

// The library's own fetching cannot tell a refusal from a mail that is gone: it would be skipped.
#[tokio::test]
async fn a_mail_that_the_server_will_not_give_now_is_asked_for_again() {
    let port = scripted(|connection, command| {
        if command.starts_with("UID FETCH 5:*") {
            Some("* 1 FETCH (UID 5 RFC822.SIZE 40)\r\nTAG OK listed\r\n".to_owned())
        } else if command.starts_with("UID FETCH 5 ") && connection == 0 {
            Some("TAG NO the shelf is locked\r\n".to_owned())
        } else if command.starts_with("UID FETCH 5 ") {
            Some(fetched(5, "From: ana@hollowbank.example\r\n\r\nin\r\n"))
        } else {
            None
        }
    })
    .await;
    let yard = Yard::offline("locked");
    let mut reading = Reading::begin(yard.inbox(("127.0.0.1".to_owned(), port)));
    assert_eq!(reading.news().await, LineNews::Up);
    assert_eq!(
        reading.news().await,
        LineNews::Down { why: format!("127.0.0.1:{port}, fetching mail 5: the shelf is locked") }
    );
    assert_eq!(reading.news().await, LineNews::Up);
    let (reply, _) = reading.reply().await;
    assert_eq!((place(&reply).uid, reply.text.as_str()), (5, "in\n"));
    reading.end().await;
}

#[tokio::test]
async fn a_mail_that_breaks_the_connection_each_time_is_passed_over_at_last() {
    let tries = Arc::new(AtomicUsize::new(0));
    let counted = tries.clone();
    let port = scripted(move |_, command| {
        if command.starts_with("UID FETCH 5:*") {
            Some("* 1 FETCH (UID 5 RFC822.SIZE 40)\r\nTAG OK listed\r\n".to_owned())
        } else if command.starts_with("UID FETCH 5 ") {
            counted.fetch_add(1, Ordering::SeqCst);
            Some("* ( this is no IMAP\r\n".to_owned())
        } else {
            None
        }
    })
    .await;
    let yard = Yard::offline("poison");
    let mut reading = Reading::begin(yard.inbox(("127.0.0.1".to_owned(), port)));
    let reply = loop {
        if let Event::Answered(reply) = reading.next().await.event {
            break reply;
        }
    };
    assert_eq!(reply.from, Sender::Mail(String::new()));
    assert_eq!(place(&reply).uid, 5);
    assert_eq!(tries.load(Ordering::SeqCst), 6);
    reading.end().await;
}

fn mail(id: &str, text: &str) -> String {
    format!(
        "From: Ana <ana@hollowbank.example>\nTo: lowbell@hollowbank.example\nSubject: {id}\n\
         Message-ID: <{id}@phone.hollowbank.example>\n\n{text}\n"
    )
}

fn proof(reply: &Reply) -> &MailProof {
    reply.mail.as_deref().unwrap()
}

fn place(reply: &Reply) -> &MailPlace {
    proof(reply).place.as_ref().unwrap()
}

/// One test's user and the folder with its password.
struct Yard {
    user: &'static str,
    folder: tempfile::TempDir,
    password: String,
}

impl Yard {
    fn new(user: &'static str) -> Self {
        Self::with_password(user, servers::mail_user().1)
    }

    /// For servers that take any password.
    fn offline(user: &'static str) -> Self {
        Self::with_password(user, "any".to_owned())
    }

    fn with_password(user: &'static str, password: String) -> Self {
        let yard = Self { user, folder: tempfile::tempdir().unwrap(), password };
        yard.write_password();
        yard
    }

    fn write_password(&self) {
        let path = self.folder.path().join("mail.secret");
        std::fs::write(path, format!("{}\n", self.password)).unwrap();
    }

    /// Waits for news so long that no test would pass by looking now and then.
    fn inbox(&self, (host, port): (String, u16)) -> Inbox {
        Inbox {
            name: LineName::new("answers"),
            line: Imap {
                server: Server {
                    host,
                    port,
                    security: Security::Plain,
                    user: Some(self.user.to_owned()),
                    password_file: Some("mail.secret".to_owned()),
                    ca: None,
                },
                mailbox: "INBOX".to_owned(),
                poll: Span::minutes(20),
                idle: Span::minutes(20),
            },
            base: self.folder.path().to_owned(),
            credentials: None,
            from: None,
            patience: Patience {
                first_pause: Duration::from_millis(20),
                longest_pause: Duration::from_millis(200),
                refused_pause: Duration::from_millis(200),
                settle: Duration::from_millis(10),
                parting: DEADLINE,
                ..Patience::default()
            },
        }
    }

    async fn eye(&self, address: (String, u16), mailbox: &str) -> Eye {
        let stream = TcpStream::connect(address).await.unwrap();
        let mut client = async_imap::Client::new(stream);
        client.read_response().await.unwrap().unwrap();
        let mut session =
            client.login(self.user, &self.password).await.map_err(|(error, _)| error).unwrap();
        let validity = session.select(mailbox).await.unwrap().uid_validity.unwrap();
        Eye { session, validity }
    }
}

/// A reader at work.
struct Reading {
    arrivals: mpsc::Receiver<Arrival>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl Reading {
    fn begin(inbox: Inbox) -> Self {
        let (send, arrivals) = mpsc::channel(8);
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(inbox.run(send, stopped));
        Self { arrivals, stop, task }
    }

    async fn next(&mut self) -> Arrival {
        timeout(DEADLINE, self.arrivals.recv())
            .await
            .expect("nothing arrived in time")
            .expect("the reader ended by itself")
    }

    async fn news(&mut self) -> LineNews {
        let event = self.next().await.event;
        let Event::Line(state) = event else {
            panic!("not news of the line: {event:?}");
        };
        assert_eq!(state.line, LineName::new("answers"));
        state.news
    }

    async fn reply(&mut self) -> (Reply, Receipt) {
        let arrival = self.next().await;
        let Event::Answered(reply) = arrival.event else {
            panic!("not a reply: {:?}", arrival.event);
        };
        (reply, arrival.receipt.expect("a mail can be confirmed"))
    }

    /// Asks it to stop and sees that it does.
    async fn end(self) {
        self.stop.send(true).unwrap();
        timeout(DEADLINE, self.task).await.unwrap().unwrap();
    }
}

/// Another mail program looking into the same mailbox.
struct Eye {
    session: async_imap::Session<TcpStream>,
    validity: u32,
}

impl Eye {
    async fn append(&mut self, mailbox: &str, mail: &str) {
        let raw = mail.replace('\n', "\r\n");
        let appended = self.session.append(mailbox, None, None, raw);
        appended.await.unwrap();
    }

    async fn create(&mut self, mailbox: &str) {
        self.session.create(mailbox).await.unwrap();
    }

    async fn delete(&mut self, mailbox: &str) {
        self.session.delete(mailbox).await.unwrap();
    }

    async fn can(&mut self, what: &str) -> bool {
        self.session.capabilities().await.unwrap().has_str(what)
    }

    async fn mark_seen(&mut self, uid: u32) {
        let mut changed = self.session.uid_store(uid.to_string(), "+FLAGS (\\Seen)").await.unwrap();
        while let Some(change) = changed.next().await {
            change.unwrap();
        }
    }

    async fn seen(&mut self, uid: u32) -> bool {
        self.session.noop().await.unwrap();
        let mut mails = self.session.uid_fetch(uid.to_string(), "(UID FLAGS)").await.unwrap();
        let mail = mails.next().await.expect("the mail is there").unwrap();
        let seen = mail.flags().any(|flag| flag == async_imap::types::Flag::Seen);
        while mails.next().await.is_some() {}
        seen
    }

    /// Looks until the mail is marked; each look is a round trip to the server.
    async fn until_seen(&mut self, uid: u32) {
        let looking = async { while !self.seen(uid).await {} };
        timeout(DEADLINE, looking).await.expect("never marked");
    }
}

/// A Dovecot for one test alone, which may stop it.
struct OwnServer {
    folder: tempfile::TempDir,
    port: u16,
    tls_port: u16,
    child: Option<Child>,
}

impl OwnServer {
    fn new() -> Self {
        let free = || {
            let listener = PortFinder::bind("127.0.0.1:0").unwrap();
            listener.local_addr().unwrap().port()
        };
        let folder = tempfile::tempdir_in("/tmp").unwrap();
        // The server runs as a user of its own and must get through.
        let open = std::os::unix::fs::PermissionsExt::from_mode(0o755);
        std::fs::set_permissions(folder.path(), open).unwrap();
        Self { folder, port: free(), tls_port: free(), child: None }
    }

    fn address(&self) -> (String, u16) {
        ("127.0.0.1".to_owned(), self.port)
    }

    async fn start(&mut self) {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/servers/imap");
        let at = |name: &str| self.folder.path().join(name);
        let log = std::fs::File::create(at("out")).unwrap();
        let child = Command::new(Path::new(script))
            .arg(at("server"))
            .arg(at("mail"))
            .arg(self.port.to_string())
            .arg(self.tls_port.to_string())
            .arg(servers::mail_user().1)
            .stdin(Stdio::null())
            .stdout(log.try_clone().unwrap())
            .stderr(log)
            .spawn()
            .unwrap();
        self.child = Some(child);
        let knocking = async {
            let mut again = tokio::time::interval(Duration::from_millis(50));
            while TcpStream::connect(self.address()).await.is_err() {
                again.tick().await;
            }
        };
        if timeout(DEADLINE, knocking).await.is_err() {
            let said = std::fs::read_to_string(at("out")).unwrap();
            let log = std::fs::read_to_string(at("server/log")).unwrap_or_default();
            panic!("the server did not start:\n{said}\n{log}");
        }
    }

    /// As a machine does at shutdown: asks it to end and waits until it has.
    fn stop(&mut self) {
        if let Some(mut child) = self.child.take() {
            let asked = Command::new("kill").arg(child.id().to_string()).status();
            assert!(asked.unwrap().success());
            child.wait().unwrap();
        }
    }
}

impl Drop for OwnServer {
    fn drop(&mut self) {
        self.stop();
    }
}

/// A server that answers as usual, unless `answer` knows better for the connection (counted from 0)
/// and the command; "TAG" in its answer stands for the command's tag.
async fn scripted(answer: impl Fn(usize, &str) -> Option<String> + Send + Sync + 'static) -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let answer = Arc::new(answer);
    tokio::spawn(async move {
        for connection in 0.. {
            let (stream, _) = listener.accept().await.unwrap();
            let answer = answer.clone();
            tokio::spawn(async move {
                let mut stream = BufReader::new(stream);
                let mut say = "* OK here\r\n".to_owned();
                let mut tag = String::new();
                loop {
                    if stream.write_all(say.as_bytes()).await.is_err() {
                        return;
                    }
                    let mut line = String::new();
                    if !matches!(stream.read_line(&mut line).await, Ok(1..)) {
                        return;
                    }
                    // DONE alone has no tag of its own: it ends what the last tag began.
                    let mut command = line.trim_end();
                    if let Some((tagged, rest)) = command.split_once(' ') {
                        tag = tagged.to_owned();
                        command = rest;
                    }
                    say = answer(connection, command)
                        .unwrap_or_else(|| usual(command))
                        .replace("TAG", &tag);
                }
            });
        }
    });
    port
}

fn fetched(uid: u32, raw: &str) -> String {
    format!("* 1 FETCH (UID {uid} BODY[]<0> {{{}}}\r\n{raw})\r\nTAG OK fetched\r\n", raw.len())
}

fn usual(command: &str) -> String {
    let before = match command.split(' ').next().unwrap() {
        "CAPABILITY" => "* CAPABILITY IMAP4rev1 IDLE\r\n",
        "SELECT" => "* 0 EXISTS\r\n* OK [UIDVALIDITY 7] lasting\r\n* OK [UIDNEXT 5] next\r\n",
        "IDLE" => return "+ waiting\r\n".to_owned(),
        _ => "",
    };
    format!("{before}TAG OK done\r\n")
}
