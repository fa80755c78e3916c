//! The built-in broker, with the usual tool as the sensor, and with a bare socket where order matters.

use std::net::SocketAddr;
use std::path::Path;
use std::process::Child;

use lowbell::config::built_in::{BuiltIn, Limits, Rights};
use lowbell::line::{Arrival, broker};
use lowbell::plain::moment::Span;
use lowbell::sensor::packet::{Packet, Payload};
use lowbell::watch::event::{Event, LineNews};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio::time::timeout;

use crate::mosquitto::{DEADLINE, publisher};

const TOPIC: &str = "yard/tail/t-07/state";
const ANY_PORT: SocketAddr =
    SocketAddr::new(std::net::IpAddr::V4(std::net::Ipv4Addr::LOCALHOST), 0);

#[tokio::test]
async fn a_sensor_is_told_yes_only_when_its_packet_is_confirmed() {
    for version in ["5", "311"] {
        let (built_in, mut inbox) = start().await;
        let port = built_in.address().port();
        let mut sensor = publish(port, &["-V", version, "-t", TOPIC, "-m", "a", "-q", "1"]);
        let first = next(&mut inbox).await;
        assert_eq!(first.event, heard(TOPIC, b"a"));
        // Another sensor comes and goes; the first one still waits.
        finish(publish(port, &["-V", version, "-t", TOPIC, "-m", "b", "-q", "0"])).await;
        let second = next(&mut inbox).await;
        assert_eq!(second.event, heard(TOPIC, b"b"));
        assert!(second.receipt.is_none());
        assert!(sensor.try_wait().unwrap().is_none(), "told too early");
        let receipt = first.receipt.unwrap();
        assert_eq!(receipt.patience, Span::from_millis(200));
        receipt.confirm();
        finish(sensor).await;
        built_in.shutdown().await;
    }
}

#[tokio::test]
async fn qos_2_waits_for_the_disk_as_well() {
    let (built_in, mut inbox) = start().await;
    let sensor = publish(built_in.address().port(), &["-t", TOPIC, "-m", "a", "-q", "2"]);
    let arrival = next(&mut inbox).await;
    assert_eq!(arrival.event, heard(TOPIC, b"a"));
    arrival.receipt.unwrap().confirm();
    finish(sensor).await;
    built_in.shutdown().await;
}

#[tokio::test]
async fn the_answer_on_the_wire_follows_the_confirmation() {
    let (built_in, mut inbox) = start().await;
    let mut sensor = connected(built_in.address()).await;

    sensor.write_all(&published(1)).await.unwrap();
    let let_go = next(&mut inbox).await;
    drop(let_go);
    // Not taken: no PUBACK, but the connection lives and answers PINGREQ with PINGRESP.
    sensor.write_all(&[0xc0, 0x00]).await.unwrap();
    assert_eq!(read(&mut sensor, 2).await, [0xd0, 0x00]);

    sensor.write_all(&published(2)).await.unwrap();
    next(&mut inbox).await.receipt.unwrap().confirm();
    // PUBACK for number 2.
    assert_eq!(read(&mut sensor, 4).await, [0x40, 0x02, 0x00, 0x02]);
    built_in.shutdown().await;
}

#[tokio::test]
async fn a_retained_message_is_news_when_it_is_published() {
    let (built_in, mut inbox) = start().await;
    let port = built_in.address().port();
    finish(publish(port, &["-t", TOPIC, "-m", "a", "-r"])).await;
    assert_eq!(next(&mut inbox).await.event, heard(TOPIC, b"a"));
    built_in.shutdown().await;
}

#[tokio::test]
async fn a_payload_too_large_is_named_and_taken_off_the_sensor() {
    let (built_in, mut inbox) = start().await;
    let port = built_in.address().port();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("payload");
    std::fs::write(&path, vec![b'x'; 300 * 1024]).unwrap();
    let sensor = publish(port, &["-t", TOPIC, "-f", path.to_str().unwrap(), "-q", "1"]);
    let arrival = next(&mut inbox).await;
    let Event::Line(state) = arrival.event else {
        panic!("it was taken");
    };
    assert_eq!(state.news, LineNews::TooLarge { what: format!("a message of 300 KiB on {TOPIC}") });
    arrival.receipt.unwrap().confirm();
    finish(sensor).await;
    built_in.shutdown().await;
}

#[tokio::test]
async fn nonsense_on_the_socket_does_no_harm() {
    let (built_in, mut inbox) = start().await;
    let connect = connect_packet();
    let mut nonsense: Vec<Vec<u8>> = vec![
        vec![],
        vec![0x00],
        vec![0xff; 64],
        b"GET / HTTP/1.1\r\n\r\n".to_vec(),
        // A remaining length of five bytes, and one of the most that four can say.
        vec![0x10, 0xff, 0xff, 0xff, 0xff, 0x7f],
        vec![0x10, 0xff, 0xff, 0xff, 0x7f],
        // PUBLISH, SUBSCRIBE and PUBACK before any greeting.
        published(1),
        vec![0x82, 0x05, 0x00, 0x01, 0x00, 0x00, 0x00],
        vec![0x40, 0x02, 0x00, 0x01],
    ];
    // A greeting cut off after each of its bytes, and with each of its bytes spoilt.
    for at in 0..connect.len() {
        nonsense.push(connect[..at].to_vec());
        let mut spoilt = connect.clone();
        spoilt[at] ^= 0xff;
        nonsense.push(spoilt);
    }
    // A good greeting, then a topic that is not UTF-8, one with a wildcard, one that is empty, a QoS
    // that does not exist and a packet number that must not.
    for bad in [
        &[0x30, 0x05, 0x00, 0x02, 0xc3, 0x28, b'x'][..],
        &[0x30, 0x05, 0x00, 0x02, b'a', b'#', b'x'],
        &[0x30, 0x03, 0x00, 0x00, b'x'],
        &[0x36, 0x06, 0x00, 0x01, b'a', 0x00, 0x01, b'x'],
        &[0x32, 0x06, 0x00, 0x01, b'a', 0x00, 0x00, b'x'],
    ] {
        nonsense.push([connect.as_slice(), bad].concat());
    }
    for bytes in nonsense {
        let mut socket = TcpStream::connect(built_in.address()).await.unwrap();
        socket.write_all(&bytes).await.unwrap();
        socket.shutdown().await.unwrap();
        // Whatever it answers, it ends.
        let mut answer = Vec::new();
        let _ = timeout(DEADLINE, socket.read_to_end(&mut answer))
            .await
            .unwrap_or_else(|_| panic!("{bytes:x?} is held open"));
    }
    let port = built_in.address().port();
    finish(publish(port, &["-t", TOPIC, "-m", "well", "-q", "0"])).await;
    // The one that announced 256 MiB is told of; the others only end.
    let Event::Line(state) = next(&mut inbox).await.event else { panic!("nonsense was heard") };
    let LineNews::TurnedAway { what, why, .. } = state.news else { panic!("{:?}", state.news) };
    assert_eq!(what, "a packet of 262144 KiB from 127.0.0.1");
    assert_eq!(why, "at most 1024 KiB are taken");
    assert_eq!(next(&mut inbox).await.event, heard(TOPIC, b"well"));
    built_in.shutdown().await;
}

#[tokio::test]
async fn a_port_already_taken_is_said_plainly() {
    let other = TcpListener::bind(ANY_PORT).await.unwrap();
    let address = other.local_addr().unwrap();
    let (arrivals, _inbox) = mpsc::channel(8);
    let why =
        broker::start(&open_at(address), Path::new("."), None, None, arrivals).await.err().unwrap();
    assert_eq!(
        why,
        format!(
            "another program listens on {address}; if it is a broker, set url instead of built-in \
             under [broker], else give built-in another port"
        )
    );
}

#[tokio::test]
async fn after_a_shutdown_the_port_is_free_and_waiting_sensors_are_let_go() {
    let (built_in, mut inbox) = start().await;
    let address = built_in.address();
    let mut sensor = connected(address).await;
    sensor.write_all(&published(1)).await.unwrap();
    let kept = next(&mut inbox).await;
    timeout(DEADLINE, built_in.shutdown()).await.unwrap();
    // The end without a PUBACK; 3.1.1 has no good-bye from the broker.
    let mut answer = Vec::new();
    let _ = timeout(DEADLINE, sensor.read_to_end(&mut answer)).await.unwrap();
    assert!(!answer.starts_with(&[0x40]), "{answer:x?}");
    kept.receipt.unwrap().confirm();
    drop(sensor);

    let (arrivals, mut inbox) = mpsc::channel(8);
    let again =
        broker::start(&open_at(address), Path::new("."), None, None, arrivals).await.unwrap();
    assert_eq!(again.address(), address);
    up(&mut inbox).await;
    again.shutdown().await;
    assert!(inbox.recv().await.is_none(), "a wanted end is no news");
}

/// A broker that asks nobody anything.
pub(crate) fn open_at(address: SocketAddr) -> BuiltIn {
    let everything = || vec!["#".to_owned()];
    BuiltIn {
        plain: Some(address),
        secure: None,
        users: Vec::new(),
        anonymous: Some(Rights { writes: everything(), reads: everything() }),
        limits: Limits::default(),
    }
}

async fn start() -> (broker::BuiltIn, mpsc::Receiver<Arrival>) {
    let (arrivals, mut inbox) = mpsc::channel(8);
    let built_in =
        broker::start(&open_at(ANY_PORT), Path::new("."), None, None, arrivals).await.unwrap();
    up(&mut inbox).await;
    (built_in, inbox)
}

async fn up(inbox: &mut mpsc::Receiver<Arrival>) {
    let Event::Line(state) = next(inbox).await.event else {
        panic!("something before the news");
    };
    assert_eq!((state.line.as_str(), state.news), ("broker", LineNews::Up));
}

async fn next(inbox: &mut mpsc::Receiver<Arrival>) -> Arrival {
    timeout(DEADLINE, inbox.recv())
        .await
        .expect("something comes in time")
        .expect("the broker lives")
}

fn heard(topic: &str, payload: &[u8]) -> Event {
    Event::Packet(Packet {
        topic: topic.to_owned(),
        payload: Payload(payload.to_vec()),
        retained: false,
    })
}

fn publish(port: u16, arguments: &[&str]) -> Child {
    publisher(port, arguments).spawn().expect("the Debian package mosquitto-clients is installed")
}

/// Waits for the tool beside the broker, which runs on this test's own thread.
async fn finish(mut child: Child) {
    let waiting = tokio::task::spawn_blocking(move || child.wait().unwrap());
    let status = timeout(DEADLINE, waiting).await.expect("it ends in time");
    assert!(status.unwrap().success());
}

async fn connected(address: SocketAddr) -> TcpStream {
    let mut socket = TcpStream::connect(address).await.unwrap();
    socket.write_all(&connect_packet()).await.unwrap();
    assert_eq!(read(&mut socket, 4).await, [0x20, 0x02, 0x00, 0x00]);
    socket
}

/// CONNECT of MQTT 3.1.1 section 3.1: clean session, keep alive 60 s, client id "t-07".
fn connect_packet() -> Vec<u8> {
    [&[0x10, 16, 0x00, 0x04][..], b"MQTT", &[0x04, 0x02, 0x00, 60, 0x00, 0x04], b"t-07"].concat()
}

/// PUBLISH with QoS 1 of MQTT 3.1.1 section 3.3.
fn published(number: u8) -> Vec<u8> {
    let topic = TOPIC.as_bytes();
    let topic_length = u8::try_from(topic.len()).unwrap();
    [&[0x32, topic_length + 5, 0x00, topic_length][..], topic, &[0x00, number, b'x']].concat()
}

async fn read(socket: &mut TcpStream, bytes: usize) -> Vec<u8> {
    let mut read = vec![0; bytes];
    timeout(DEADLINE, socket.read_exact(&mut read)).await.expect("an answer in time").unwrap();
    read
}
