//! The built-in broker and whom it turns away: with the usual tools, another library, and bare sockets.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use lowbell::config::built_in::{BuiltIn, Limits, Rights, Secure, User};
use lowbell::line::{Arrival, broker};
use lowbell::watch::event::{Event, LineNews, Misdeed};
use rumqttc::{AsyncClient, Incoming, MqttOptions};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpSocket, TcpStream};
use tokio::sync::mpsc;
use tokio::time::timeout;

use crate::mosquitto::{DEADLINE, publisher};

const ANY_PORT: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(Ipv4Addr::LOCALHOST), 0);
const TOPIC: &str = "yard/tail/t-07/state";

/// A broker with the users t-07 and t-08, and what came of it.
struct Place {
    broker: broker::BuiltIn,
    inbox: mpsc::Receiver<Arrival>,
}

impl Place {
    async fn new(change: impl FnOnce(&mut BuiltIn)) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let texts = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect();
        let user = |name: &str, password: &str| {
            let password_file = format!("{name}.secret");
            std::fs::write(folder.path().join(&password_file), password).unwrap();
            let rights = Rights {
                writes: texts(&[&format!("yard/tail/{name}/#")]),
                reads: texts(&["yard/lamp/#"]),
            };
            User { name: name.to_owned(), password_file, rights }
        };
        let mut settings = BuiltIn {
            plain: Some(ANY_PORT),
            secure: None,
            users: vec![user("t-07", "oak gate\n"), user("t-08", "elm gate")],
            anonymous: None,
            limits: Limits::default(),
        };
        change(&mut settings);
        let (arrivals, mut inbox) = mpsc::channel(100);
        let broker = broker::start(&settings, folder.path(), None, None, arrivals).await.unwrap();
        assert!(matches!(next(&mut inbox).await, Event::Line(state) if state.news == LineNews::Up));
        Self { broker, inbox }
    }

    fn port(&self) -> u16 {
        self.broker.address().port()
    }

    /// Publishes with the usual tool; whether it was content.
    async fn publish(&mut self, port: u16, arguments: &[&str]) -> bool {
        let mut command = publisher(port, arguments);
        command.stderr(Stdio::null());
        let mut child = command.spawn().expect("the Debian package mosquitto-clients is installed");
        let waiting = tokio::task::spawn_blocking(move || child.wait().unwrap());
        timeout(DEADLINE, waiting).await.expect("it ends in time").unwrap().success()
    }

    async fn next(&mut self) -> Event {
        next(&mut self.inbox).await
    }

    /// What it says of somebody turned away: for what, from where, what and why.
    async fn turned_away(&mut self) -> (Misdeed, String, String, String) {
        let event = self.next().await;
        let Event::Line(state) = event else { panic!("not news: {event:?}") };
        let LineNews::TurnedAway { for_what, from, what, why, times } = state.news else {
            panic!("other news: {:?}", state.news)
        };
        assert_eq!(times, 1);
        (for_what, from, what, why)
    }

    async fn is_turned_away(&mut self, for_what: Misdeed, what: &str, why: &str) {
        let told = self.turned_away().await;
        assert_eq!(told, (for_what, "127.0.0.1".to_owned(), what.to_owned(), why.to_owned()));
    }

    /// Nothing else has come in: shown by something that does.
    async fn nothing_else(&mut self) {
        let mut sensor = self.greet(&greeting("last", Some(("t-08", "elm gate")), None)).await.0;
        sensor.write_all(&published("yard/tail/t-08/last", b"")).await.unwrap();
        let Event::Packet(packet) = self.next().await else { panic!("something else") };
        assert_eq!(packet.topic, "yard/tail/t-08/last");
    }

    /// Connects a bare socket and says this; the socket and the code of the answer (MQTT 3.1.1, 3.2).
    async fn greet(&self, hello: &[u8]) -> (TcpStream, u8) {
        greet_from(Ipv4Addr::LOCALHOST, self.broker.address(), hello).await
    }
}

#[tokio::test]
async fn only_the_right_password_comes_in() {
    let mut place = Place::new(|_| {}).await;
    let port = place.port();
    for version in ["311", "5"] {
        let common = ["-V", version, "-t", TOPIC, "-m", "a", "-q", "0"];
        let with = |more: &[&'static str]| [&common[..], more].concat();
        assert!(place.publish(port, &with(&["-u", "t-07", "-P", "oak gate"])).await);
        let Event::Packet(packet) = place.next().await else { panic!("it is in") };
        assert_eq!(packet.topic, TOPIC);

        assert!(!place.publish(port, &with(&["-u", "t-07", "-P", "elm gate"])).await);
        let what = "a login as t-07 from 127.0.0.1";
        place.is_turned_away(Misdeed::Login, what, "no user has that name and password").await;
        assert!(!place.publish(port, &with(&[])).await);
        let what = "a login as nobody from 127.0.0.1";
        let why = "it says no name, and anonymous is not allowed";
        place.is_turned_away(Misdeed::Login, what, why).await;
    }
    place.nothing_else().await;
}

#[tokio::test]
async fn a_user_writes_and_reads_what_is_its_own_and_nothing_else() {
    let mut place = Place::new(|_| {}).await;
    let port = place.port();
    let who = ["-i", "tail", "-u", "t-07", "-P", "oak gate"];
    for (topic, qos) in [("yard/tail/t-08/state", "0"), ("lowbell/answer/Ana", "1")] {
        place.publish(port, &[&who[..], &["-t", topic, "-m", "a", "-q", qos]].concat()).await;
        let what = format!("a message on {topic} from 127.0.0.1 as tail");
        place.is_turned_away(Misdeed::Topic, &what, "it may not write there").await;
    }
    for (filter, granted) in [("#", 0x80), ("yard/#", 0x80), ("yard/lamp/+", 0x00)] {
        let hello = greeting("tail", Some(("t-07", "oak gate")), None);
        let (mut client, code) = place.greet(&hello).await;
        assert_eq!(code, 0);
        client.write_all(&subscribe(filter)).await.unwrap();
        assert_eq!(read(&mut client, 5).await, [0x90, 3, 0, 1, granted], "{filter}");
        if granted == 0x80 {
            let what = format!("a subscription to {filter} from 127.0.0.1 as tail");
            place.is_turned_away(Misdeed::Topic, &what, "it may not read there").await;
        }
        client.write_all(&[0xe0, 0]).await.unwrap();
        assert_eq!(client.read(&mut [0]).await.unwrap(), 0);
    }
    place.nothing_else().await;
}

#[tokio::test]
async fn another_library_comes_in_with_its_password_and_is_told_when_it_is_on_disk() {
    let mut place = Place::new(|_| {}).await;
    let mut options = MqttOptions::new("four", "127.0.0.1", place.port());
    options.set_credentials("t-07", "oak gate");
    let (client, mut four) = AsyncClient::new(options, 10);
    client.publish(TOPIC, rumqttc::QoS::AtLeastOnce, false, "4").await.unwrap();
    let acknowledged = async {
        while !matches!(four.poll().await.unwrap(), rumqttc::Event::Incoming(Incoming::PubAck(_))) {
        }
    };
    let ((), ()) = tokio::join!(acknowledged, confirm(&mut place.inbox));

    let mut options = rumqttc::v5::MqttOptions::new("five", "127.0.0.1", place.port());
    options.set_credentials("t-08", "elm gate");
    let (client, mut five) = rumqttc::v5::AsyncClient::new(options, 10);
    let topic = "yard/tail/t-08/state";
    client.publish(topic, rumqttc::v5::mqttbytes::QoS::AtLeastOnce, false, "5").await.unwrap();
    let acknowledged = async {
        loop {
            let event = five.poll().await.unwrap();
            if matches!(event, rumqttc::v5::Event::Incoming(rumqttc::v5::Incoming::PubAck(_))) {
                return;
            }
        }
    };
    let ((), ()) = tokio::join!(acknowledged, confirm(&mut place.inbox));
}

#[tokio::test]
async fn an_address_that_guesses_must_wait_but_not_whoever_came_in_from_there_before() {
    let mut place = Place::new(|settings| settings.limits.failed_logins = 3).await;
    let right = greeting("a", Some(("t-07", "oak gate")), None);
    assert_eq!(place.greet(&right).await.1, 0);
    for n in 0..3 {
        let wrong = greeting("b", Some(("t-08", &format!("guess {n}"))), None);
        // MQTT 3.1.1, 3.2.2.3: 4 is a bad user name or password, 3 a server that is unavailable.
        assert_eq!(place.greet(&wrong).await.1, 4);
        let told = place.turned_away().await;
        assert_eq!(told.3, "no user has that name and password");
    }
    let other = greeting("b", Some(("t-08", "elm gate")), None);
    assert_eq!(place.greet(&other).await.1, 3, "even the right one is not looked at now");
    let why = "after so many wrong passwords that address waits a minute";
    place.is_turned_away(Misdeed::Login, "a login as t-08 from 127.0.0.1", why).await;
    assert_eq!(place.greet(&right).await.1, 0, "it has come in from there before");
    let elsewhere = greet_from(Ipv4Addr::new(127, 0, 0, 2), place.broker.address(), &other).await;
    assert_eq!(elsewhere.1, 0, "another address does not wait");
}

#[tokio::test]
async fn there_is_room_for_so_many_and_no_more() {
    let mut place = Place::new(|settings| {
        settings.limits.connections = 3;
        settings.limits.per_address = 2;
    })
    .await;
    let hello = |id: &str| greeting(id, Some(("t-07", "oak gate")), None);
    let first = place.greet(&hello("a")).await;
    let _second = place.greet(&hello("b")).await;
    assert_eq!(first.1, 0);
    is_closed(TcpStream::connect(place.broker.address()).await.unwrap()).await;
    let what = "a connection from 127.0.0.1";
    place.is_turned_away(Misdeed::Crowd, what, "there is room for 2 of one address").await;
    let other = Ipv4Addr::new(127, 0, 0, 2);
    let third = greet_from(other, place.broker.address(), &hello("c")).await;
    assert_eq!(third.1, 0);
    is_closed(connect_from(other, place.broker.address()).await).await;
    assert_eq!(place.turned_away().await.3, "there is room for 3");
}

#[tokio::test]
async fn whoever_sends_too_large_a_packet_is_cut_off_and_named() {
    let mut place = Place::new(|settings| settings.limits.packet = 8 * 1024).await;
    let hello = greeting("tail", Some(("t-07", "oak gate")), None);
    let mut sensor = place.greet(&hello).await.0;
    sensor.write_all(&published(TOPIC, &[b'x'; 12_000])).await.unwrap();
    let (for_what, from, what, why) = place.turned_away().await;
    assert_eq!((for_what, from.as_str()), (Misdeed::Packet, "127.0.0.1"));
    assert_eq!(what, "a packet of 11 KiB from 127.0.0.1 as tail");
    assert_eq!(why, "at most 8 KiB are taken");
}

#[tokio::test]
async fn two_that_call_themselves_the_same_are_told_of_and_another_users_name_is_safe() {
    let mut place = Place::new(|_| {}).await;
    let hello = greeting("tail", Some(("t-07", "oak gate")), None);
    let first = place.greet(&hello).await;
    let stolen = greeting("tail", Some(("t-08", "elm gate")), None);
    assert_eq!(place.greet(&stolen).await.1, 2, "3.2.2.3: 2 is an identifier that is rejected");
    let what = "client tail of user t-08 at 127.0.0.1";
    let why = "a client of that name and another user is here";
    place.is_turned_away(Misdeed::Twin, what, why).await;

    let other = Ipv4Addr::new(127, 0, 0, 2);
    let second = greet_from(other, place.broker.address(), &hello).await;
    assert_eq!((first.1, second.1), (0, 0));
    let why = "one of the same name came from 127.0.0.2 and took its place";
    place.is_turned_away(Misdeed::Twin, "client tail at 127.0.0.1", why).await;
}

#[tokio::test]
async fn a_last_will_comes_in_when_a_sensor_is_lost_and_not_when_it_takes_its_leave() {
    let mut place = Place::new(|_| {}).await;
    let hello = |will| greeting("tail", Some(("t-07", "oak gate")), Some((will, "offline")));
    drop(place.greet(&hello("yard/tail/t-07/presence")).await);
    let Event::Packet(packet) = place.next().await else { panic!("it is a message") };
    assert_eq!((packet.topic.as_str(), packet.retained), ("yard/tail/t-07/presence", false));
    assert_eq!(packet.payload.0, b"offline");

    let mut polite = place.greet(&hello("yard/tail/t-07/presence")).await.0;
    polite.write_all(&[0xe0, 0]).await.unwrap();
    is_closed(polite).await;

    drop(place.greet(&hello("lowbell/answer/Ana")).await);
    let what = "a message on lowbell/answer/Ana from 127.0.0.1 as tail";
    place.is_turned_away(Misdeed::Topic, what, "it may not write there").await;
    place.nothing_else().await;
}

fn certs(file: &str) -> String {
    let certs = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/certs");
    certs.join(file).display().to_string()
}

fn secure(settings: &mut BuiltIn, client_ca: Option<String>) {
    settings.secure = Some(Secure {
        address: ANY_PORT,
        certificate: certs("server.pem"),
        key_file: certs("server.key"),
        client_ca,
    });
}

/// Makes an authority, and a client's certificate that it has signed.
fn client_certificate(folder: &Path) {
    let made = |arguments: &str| {
        let curve = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 ";
        let all = format!("{curve}{arguments}");
        let mut command = Command::new("openssl");
        command.current_dir(folder).args(all.split(' ')).stderr(Stdio::null());
        assert!(command.status().expect("openssl is installed").success());
    };
    made("-subj /CN=authority -keyout ca.key -out ca.pem");
    made(
        "-subj /CN=t-07 -keyout t-07.key -out t-07.pem -CA ca.pem -CAkey ca.key \
         -addext basicConstraints=CA:FALSE -addext extendedKeyUsage=clientAuth",
    );
}

#[tokio::test]
async fn silent_peers_at_the_tls_door_are_in_nobodys_way() {
    let mut place = Place::new(|settings| secure(settings, None)).await;
    let address = place.broker.secure_address().unwrap();
    let mut silent = Vec::new();
    for _ in 0..40 {
        silent.push(TcpStream::connect(address).await.unwrap());
    }
    let ca = certs("ca.pem");
    let who = ["--cafile", &ca, "-u", "t-07", "-P", "oak gate", "-t", TOPIC, "-m", "a"];
    assert!(place.publish(address.port(), &who).await);
    let Event::Packet(packet) = place.next().await else { panic!("it is in") };
    assert_eq!(packet.topic, TOPIC);
    // What is no TLS at all is told.
    silent[0].write_all(&greeting("x", None, None)).await.unwrap();
    let (for_what, from, what, _) = place.turned_away().await;
    assert_eq!((for_what, from.as_str()), (Misdeed::Handshake, "127.0.0.1"));
    assert_eq!(what, "a beginning of TLS from 127.0.0.1");
}

#[tokio::test]
async fn with_a_client_ca_only_those_with_a_certificate_come_in() {
    let folder = tempfile::tempdir().unwrap();
    client_certificate(folder.path());
    let file = |name: &str| folder.path().join(name).display().to_string();
    let mut place = Place::new(|settings| secure(settings, Some(file("ca.pem")))).await;
    let port = place.broker.secure_address().unwrap().port();
    let ca = certs("ca.pem");
    let who = ["--cafile", &ca, "-u", "t-07", "-P", "oak gate", "-t", TOPIC, "-m", "a"];
    assert!(!place.publish(port, &who).await);
    assert_eq!(place.turned_away().await.0, Misdeed::Handshake);
    let (cert, key) = (file("t-07.pem"), file("t-07.key"));
    let with = [&who[..], &["--cert", &cert, "--key", &key]].concat();
    assert!(place.publish(port, &with).await);
    assert!(matches!(place.next().await, Event::Packet(_)));
}

#[tokio::test]
async fn a_subscriber_of_the_usual_kind_hears_what_a_sensor_says() {
    let place = Place::new(|settings| {
        settings.users[1].rights.reads.push("yard/tail/#".to_owned());
    })
    .await;
    let port = place.port().to_string();
    let mut listening = Command::new("mosquitto_sub");
    let filter = ["-h", "127.0.0.1", "-p", &port, "-u", "t-08", "-P", "elm gate", "-C", "1"];
    listening.args(filter).args(["-t", "yard/tail/+/state"]).stdout(Stdio::piped());
    let listening = listening.spawn().expect("the Debian package mosquitto-clients is installed");
    let heard = tokio::task::spawn_blocking(move || listening.wait_with_output().unwrap());
    let hello = greeting("tail", Some(("t-07", "oak gate")), None);
    let mut sensor = place.greet(&hello).await.0;
    // Retained, so that it does not matter which of the two was here first.
    let mut retained = published(TOPIC, b"efforts");
    retained[0] |= 1;
    sensor.write_all(&retained).await.unwrap();
    let heard = timeout(DEADLINE, heard).await.expect("it is heard in time").unwrap();
    assert_eq!(heard.stdout, b"efforts\n");
}

#[tokio::test]
async fn what_a_file_lacks_is_said_with_its_name() {
    let start = async |change: fn(&mut BuiltIn, &Path)| {
        let folder = tempfile::tempdir().unwrap();
        let mut settings = crate::broker::open_at(ANY_PORT);
        change(&mut settings, folder.path());
        let (arrivals, _inbox) = mpsc::channel(8);
        let why =
            broker::start(&settings, folder.path(), None, None, arrivals).await.err().unwrap();
        why.replace(&folder.path().display().to_string(), "FOLDER")
    };
    fn user(settings: &mut BuiltIn) {
        let rights = Rights::default();
        let (name, password_file) = ("t-07".to_owned(), "t-07.secret".to_owned());
        settings.users.push(User { name, password_file, rights });
    }
    assert_eq!(
        start(|settings, _| user(settings)).await,
        "there is no FOLDER/t-07.secret; make that file with the password or key in it, \
         readable by the account that runs lowbell alone"
    );
    let broken = start(|settings, folder| {
        user(settings);
        std::fs::write(folder.join("t-07.secret"), "$argon2id$nonsense").unwrap();
    });
    assert!(broken.await.starts_with("the hash in t-07.secret cannot be read: "));
    let strangers = start(|settings, _| {
        secure(settings, None);
        settings.secure.as_mut().unwrap().certificate = certs("ca.pem");
    });
    assert!(strangers.await.contains("do not go together"));
}

async fn next(inbox: &mut mpsc::Receiver<Arrival>) -> Event {
    let arrival = timeout(DEADLINE, inbox.recv()).await.expect("something comes in time");
    arrival.expect("the broker lives").event
}

async fn confirm(inbox: &mut mpsc::Receiver<Arrival>) {
    let arrival = timeout(DEADLINE, inbox.recv()).await.expect("something comes in time").unwrap();
    arrival.receipt.expect("it waits").confirm();
}

async fn connect_from(from: Ipv4Addr, to: SocketAddr) -> TcpStream {
    let socket = TcpSocket::new_v4().unwrap();
    socket.bind(SocketAddr::from((from, 0))).unwrap();
    socket.connect(to).await.unwrap()
}

async fn greet_from(from: Ipv4Addr, to: SocketAddr, hello: &[u8]) -> (TcpStream, u8) {
    let mut socket = connect_from(from, to).await;
    socket.write_all(hello).await.unwrap();
    let answer = read(&mut socket, 4).await;
    assert_eq!(answer[..3], [0x20, 2, 0], "a CONNACK without a session");
    (socket, answer[3])
}

async fn is_closed(mut socket: TcpStream) {
    // A reset is an end as well.
    let end = timeout(DEADLINE, socket.read(&mut [0])).await.expect("it ends in time");
    assert_eq!(end.unwrap_or(0), 0);
}

async fn read(socket: &mut TcpStream, bytes: usize) -> Vec<u8> {
    let mut read = vec![0; bytes];
    timeout(DEADLINE, socket.read_exact(&mut read)).await.expect("an answer in time").unwrap();
    read
}

fn text(text: &str) -> Vec<u8> {
    [&u16::try_from(text.len()).unwrap().to_be_bytes()[..], text.as_bytes()].concat()
}

fn packet(first: u8, rest: &[u8]) -> Vec<u8> {
    let mut packet = vec![first];
    let mut length = rest.len();
    loop {
        let low = u8::try_from(length % 128).unwrap();
        length /= 128;
        packet.push(if length > 0 { low | 0x80 } else { low });
        if length == 0 {
            break;
        }
    }
    packet.extend(rest);
    packet
}

/// CONNECT of MQTT 3.1.1 section 3.1: clean session, keep alive 60 s.
fn greeting(id: &str, login: Option<(&str, &str)>, will: Option<(&str, &str)>) -> Vec<u8> {
    let flags = 0x02 | login.map_or(0, |_| 0xc0) | will.map_or(0, |_| 0x04);
    let mut rest = [&text("MQTT")[..], &[4, flags, 0, 60], &text(id)].concat();
    for (one, other) in will.into_iter().chain(login) {
        rest.extend(text(one));
        rest.extend(text(other));
    }
    packet(0x10, &rest)
}

/// PUBLISH with QoS 0 of section 3.3.
fn published(topic: &str, payload: &[u8]) -> Vec<u8> {
    packet(0x30, &[&text(topic)[..], payload].concat())
}

/// SUBSCRIBE of section 3.8, number 1, QoS 0.
fn subscribe(filter: &str) -> Vec<u8> {
    packet(0x82, &[&[0, 1][..], &text(filter), &[0]].concat())
}
