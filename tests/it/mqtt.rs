//! The broker line against a real broker, and against invented ones where no real one misbehaves enough.

use std::path::PathBuf;
use std::time::Duration;

use lowbell::config::farm::{Broker, BrokerWay, MqttVersion};
use lowbell::line::Arrival;
use lowbell::line::mqtt::{self, Plan};
use lowbell::plain::moment::Span;
use lowbell::sensor::packet::Packet;
use lowbell::sensor::topic::Filter;
use lowbell::watch::event::{Event, LineNews};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

use crate::mosquitto::{DEADLINE, Mosquitto, broker_at, free_port, password_file};

mod life;

const BOTH: [MqttVersion; 2] = [MqttVersion::Five, MqttVersion::ThreeOneOne];
const TAIL: &str = "yard/tail/+/state";

#[tokio::test]
async fn what_was_not_confirmed_comes_again_and_what_was_does_not() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "a", "-q", "1"]);
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "b", "-q", "1"]);
        let (a, b) = (line.next().await, line.next().await);
        assert_eq!((text(&a), text(&b)), ("a".into(), "b".into()));
        a.receipt.unwrap().confirm();
        drop(b);
        line.stop().await;

        let mut line = Line::start(broker.broker(version), true);
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "c", "-q", "1"]);
        assert_eq!(line.packets(2).await, ["b", "c"]);
        assert!(!line.all_news.contains(&LineNews::SessionLost));
        line.stop().await;
    }
}

#[tokio::test]
async fn a_late_confirmation_does_not_reach_the_next_connection() {
    for version in BOTH {
        let mut broker = Mosquitto::start("persistence true").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "a", "-q", "1"]);
        let old = line.next().await;
        broker.stop();
        broker.resume().await;
        // The same message under the same number: a late word would be taken for this one's.
        let again = line.next_packet().await;
        assert_eq!(text(&again), "a");
        line.up().await;
        old.receipt.unwrap().confirm();
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "b", "-q", "0"]);
        assert_eq!(line.packets(1).await, ["b"]);
        drop(again);
        line.stop().await;

        let mut line = Line::start(broker.broker(version), true);
        assert_eq!(line.packets(1).await, ["a"]);
        line.stop().await;
    }
}

#[tokio::test]
async fn two_hundred_packets_can_wait_for_their_commit() {
    let broker = Mosquitto::start("").await;
    let mut line = Line::start(broker.broker(MqttVersion::Five), false);
    line.up().await;
    let sent: Vec<String> = (0..200).map(|n| n.to_string()).collect();
    broker.publish_lines(&["-t", "yard/tail/t-07/state", "-q", "1"], &sent);
    let mut waiting = Vec::new();
    for _ in 0..200 {
        waiting.push(line.next_packet().await);
    }
    assert_eq!(waiting.iter().map(text).collect::<Vec<_>>(), sent);
    let patience = |arrival: &Arrival| arrival.receipt.as_ref().unwrap().patience;
    assert!(waiting.iter().all(|a| patience(a) == Span::seconds(20)));
    line.stop().await;
}

#[tokio::test]
async fn where_the_window_is_small_the_receipts_say_hurry() {
    let broker = Mosquitto::start("").await;
    let mut line = Line::start(broker.broker(MqttVersion::ThreeOneOne), false);
    line.up().await;
    let sent: Vec<String> = (0..100).map(|n| n.to_string()).collect();
    broker.publish_lines(&["-t", "yard/tail/t-07/state", "-q", "1"], &sent);
    let (mut heard, mut waiting) = (Vec::new(), Vec::new());
    while heard.len() < 100 {
        let arrival = line.next_packet().await;
        heard.push(text(&arrival));
        let hurry = arrival.receipt.as_ref().unwrap().patience == Span::ZERO;
        waiting.push(arrival.receipt.unwrap());
        if hurry {
            waiting.drain(..).for_each(|receipt| receipt.confirm());
        }
    }
    assert_eq!(heard, sent);
    line.stop().await;
}

#[tokio::test]
async fn a_wrong_password_is_said_once_and_a_mended_one_is_used() {
    for version in BOTH {
        let mut broker = Mosquitto::prepare("password_file {folder}/users");
        password_file(&broker.folder.path().join("users"), "ana", "right");
        broker.resume().await;
        let base = tempfile::tempdir().unwrap();
        std::fs::write(base.path().join("broker.secret"), "wrong\n").unwrap();
        let mut settings = broker.broker(version);
        settings.user = Some("ana".to_owned());
        settings.password_file = Some("broker.secret".to_owned());
        let mut line = Line::start_in(settings, base.path().to_owned(), false);
        let why = format!(
            "the broker at 127.0.0.1:{} refused user \"ana\": check user and password-file under [broker]",
            broker.port
        );
        assert_eq!(line.news().await, LineNews::Down { why });
        std::fs::write(base.path().join("broker.secret"), "right\n").unwrap();
        line.up().await;
        assert_eq!(line.news, [taken(TAIL), LineNews::Up]);
        line.stop().await;
    }
}

#[tokio::test]
async fn a_secret_that_cannot_be_read_is_said() {
    let mut settings = broker_at(free_port(), MqttVersion::Five);
    settings.user = Some("ana".to_owned());
    settings.password_file = Some("broker.secret".to_owned());
    let mut line = Line::start(settings, false);
    let LineNews::Down { why } = line.news().await else {
        panic!("no trouble told");
    };
    assert!(why.contains("broker.secret"), "{why}");
    line.stop().await;
}

#[tokio::test]
async fn a_broker_that_refuses_is_not_stormed() {
    for (version, no) in [
        (MqttVersion::Five, &[0x20, 0x03, 0x00, 0x87, 0x00][..]),
        (MqttVersion::ThreeOneOne, &[0x20, 0x02, 0x00, 0x05][..]),
    ] {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let port = listener.local_addr().unwrap().port();
        let mut line = Line::start(broker_at(port, version), false);
        let mut connects = 0;
        // Without a pause there are thousands in this time; with it at most five, and fewer on a
        // slow machine.
        let _ = timeout(Duration::from_secs(4), async {
            loop {
                let (mut socket, _) = listener.accept().await.unwrap();
                connects += 1;
                greeted(&mut socket).await;
                socket.write_all(no).await.unwrap();
            }
        })
        .await;
        assert!((2..=6).contains(&connects), "{connects} connects");
        let why = format!(
            "the broker at 127.0.0.1:{port} refused us without a user: set user and password-file under [broker]"
        );
        assert_eq!(line.news().await, LineNews::Down { why });
        assert!(line.arrivals.try_recv().is_err(), "told more than once");
        line.stop().await;
    }
}

#[tokio::test]
async fn a_subscription_refused_is_named_and_takes_no_other_with_it() {
    let mut broker = Mosquitto::prepare(&format!(
        "plugin {}\nplugin_opt_config_file {{folder}}/rights.json",
        find_plugin().display()
    ));
    std::fs::write(broker.folder.path().join("rights.json"), RIGHTS).unwrap();
    broker.resume().await;
    for (version, why) in [
        (MqttVersion::Five, "we may not read it"),
        (MqttVersion::ThreeOneOne, "the broker gave no reason; most often we may not read it"),
    ] {
        let filters = ["kitchen/#", TAIL, "yard/#/wrong"];
        let mut line =
            Line::start_with(broker.broker(version), PathBuf::new(), &filters, false, CROWD);
        line.up().await;
        let refused = |filter: &str, why: &str| LineNews::SubscriptionRefused {
            filter: filter.to_owned(),
            why: why.to_owned(),
        };
        assert_eq!(
            line.news,
            [
                refused("kitchen/#", why),
                taken(TAIL),
                refused("yard/#/wrong", "this is not a topic filter"),
                LineNews::Up,
            ]
        );
        line.stop().await;
    }
}

#[tokio::test]
async fn a_broker_that_forgot_our_session_is_found_out() {
    for version in BOTH {
        let mut broker = Mosquitto::start("persistence false").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        broker.kill();
        line.down().await;
        broker.resume().await;
        line.up().await;
        assert_eq!(line.news, [LineNews::SessionLost, LineNews::Up]);
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "a", "-q", "1"]);
        assert_eq!(line.packets(1).await, ["a"]);
        line.stop().await;
    }
}

#[tokio::test]
async fn a_broker_that_kept_our_session_is_not_accused() {
    for version in BOTH {
        let mut broker = Mosquitto::start("persistence true").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        broker.stop();
        line.down().await;
        broker.resume().await;
        line.up().await;
        assert_eq!(line.news, [LineNews::Up]);
        line.stop().await;
    }
}

#[tokio::test]
async fn a_known_client_that_finds_no_session_says_so() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let mut line = Line::start(broker.broker(version), true);
        line.up().await;
        assert_eq!(line.news, [LineNews::SessionLost, taken(TAIL), LineNews::Up]);
        line.stop().await;
    }
}

#[tokio::test]
async fn nothing_listening_is_said_once_and_ends_when_it_does() {
    let mut broker = Mosquitto::prepare("");
    let mut line = Line::start(broker.broker(MqttVersion::Five), false);
    let why = format!("nothing listens at 127.0.0.1:{}: is the broker running?", broker.port);
    assert_eq!(line.news().await, LineNews::Down { why });
    broker.resume().await;
    line.up().await;
    assert_eq!(line.news, [taken(TAIL), LineNews::Up]);
    line.stop().await;
}

#[tokio::test]
async fn a_payload_too_large_is_named_confirmed_and_passed() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        broker.publish_bytes("yard/tail/t-07/state", mqtt::PAYLOAD_MAX, &["-q", "1"]);
        broker.publish_bytes("yard/tail/t-08/state", mqtt::PAYLOAD_MAX + 1, &["-q", "1"]);
        broker.publish(&["-t", "yard/tail/t-09/state", "-m", "behind", "-q", "1"]);
        let just = line.next().await;
        assert_eq!(packet(&just).payload.0.len(), mqtt::PAYLOAD_MAX);
        let large = line.next().await;
        assert_eq!(
            news(&large),
            Some(&LineNews::TooLarge {
                what: "a message of 256 KiB on yard/tail/t-08/state".to_owned()
            })
        );
        let behind = line.next().await;
        assert_eq!(text(&behind), "behind");
        for arrival in [just, large, behind] {
            arrival.receipt.unwrap().confirm();
        }
        line.stop().await;

        let mut line = Line::start(broker.broker(version), true);
        line.up().await;
        broker.publish(&["-t", "yard/tail/t-09/state", "-m", "next", "-q", "1"]);
        assert_eq!(line.packets(1).await, ["next"], "nothing came again");
        line.stop().await;
    }
}

#[tokio::test]
async fn a_packet_too_large_for_the_library_does_not_hold_up_the_queue() {
    // MQTT 3.1.1 has no way to tell the broker our limit: the packet is at the head of the queue on
    // every connection.
    let broker = Mosquitto::start("").await;
    queue_behind_large(&broker, MqttVersion::ThreeOneOne, 3 * 1024 * 1024).await;
    let mut line = Line::start(broker.broker(MqttVersion::ThreeOneOne), true);
    let large = line
        .next_of(|a| !matches!(news(a), Some(LineNews::Up | LineNews::SubscriptionTaken { .. })))
        .await;
    assert_eq!(
        news(&large),
        Some(&LineNews::TooLarge { what: "a message of 3 MiB on yard/tail/t-08/state".to_owned() })
    );
    assert_eq!(text(&line.next_packet().await), "behind");
    assert!(!line.news.contains(&LineNews::SessionLost));
    line.stop().await;
}

#[tokio::test]
async fn with_mqtt_5_the_broker_keeps_back_what_is_too_large() {
    let broker = Mosquitto::start("").await;
    queue_behind_large(&broker, MqttVersion::Five, 3 * 1024 * 1024).await;
    let mut line = Line::start(broker.broker(MqttVersion::Five), true);
    assert_eq!(line.packets(1).await, ["behind"]);
    assert!(!line.news.contains(&LineNews::SessionLost));
    line.stop().await;
}

#[tokio::test]
async fn a_packet_too_large_to_be_let_in_at_all_costs_the_session_and_that_is_said() {
    let broker = Mosquitto::start("").await;
    queue_behind_large(&broker, MqttVersion::ThreeOneOne, 17 * 1024 * 1024).await;
    let mut line = Line::start(broker.broker(MqttVersion::ThreeOneOne), true);
    while !line.all_news.contains(&LineNews::SessionLost) {
        line.news().await;
    }
    line.up().await;
    let what = "a message of 17 MiB".to_owned();
    let told = line.all_news.iter();
    assert_eq!(told.filter(|n| **n == LineNews::TooLarge { what: what.clone() }).count(), 1);
    broker.publish(&["-t", "yard/tail/t-09/state", "-m", "next", "-q", "1"]);
    assert_eq!(line.packets(1).await, ["next"]);
    line.stop().await;
}

#[tokio::test]
async fn a_queue_that_cannot_be_read_is_given_up_and_that_is_said() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let ill = tokio::spawn(async move {
        let mut connects = 0;
        loop {
            let (mut socket, _) = listener.accept().await.unwrap();
            connects += 1;
            let clean = greeted(&mut socket).await[9] & 0x02 != 0;
            let present = u8::from(!clean);
            socket.write_all(&[0x20, 0x02, present, 0x00]).await.unwrap();
            let subscribe = packet_bytes(&mut socket).await;
            socket.write_all(&[0x90, 0x03, subscribe[2], subscribe[3], 0x01]).await.unwrap();
            if clean {
                // PUBLISH, QoS 1, topic "yard/tail/t-07/state", number 1, payload "well".
                let mut publish = vec![0x32, 28, 0, 20];
                publish.extend(b"yard/tail/t-07/state\x00\x01well");
                socket.write_all(&publish).await.unwrap();
                // The confirmation, or the end.
                let _ = socket.read(&mut [0; 16]).await;
                return connects;
            }
            // In one breath: PUBLISH, QoS 0, topic "yard/tail/t-07/state", payload "near"; and
            // PUBLISH, QoS 1, a topic of two bytes that are not UTF-8.
            let mut publish = vec![0x30, 26, 0, 20];
            publish.extend(b"yard/tail/t-07/statenear");
            publish.extend([0x32, 0x07, 0x00, 0x02, 0xc3, 0x28, 0x00, 0x01, b'x']);
            socket.write_all(&publish).await.unwrap();
            let _ = socket.read(&mut [0; 16]).await;
        }
    });
    let mut line = Line::start(broker_at(port, MqttVersion::ThreeOneOne), true);
    // What stood before the unreadable is not lost with it.
    assert_eq!(line.packets(3).await, ["near", "near", "near"]);
    let arrival = line.next_packet().await;
    assert_eq!(text(&arrival), "well");
    assert!(line.all_news.contains(&LineNews::SessionLost));
    let why = format!(
        "the broker at 127.0.0.1:{port} sends something that cannot be read: \
         Topic is not UTF-8"
    );
    assert!(line.all_news.contains(&LineNews::Down { why }));
    arrival.receipt.unwrap().confirm();
    assert_eq!(timeout(DEADLINE, ill).await.unwrap().unwrap(), 4);
    line.stop().await;
}

#[tokio::test]
async fn a_topic_that_is_not_text_is_passed_on_as_far_as_it_can_be_read() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let odd = tokio::spawn(async move {
        let (mut socket, _) = listener.accept().await.unwrap();
        greeted(&mut socket).await;
        socket.write_all(&[0x20, 0x03, 0, 0, 0]).await.unwrap();
        let subscribe = packet_bytes(&mut socket).await;
        let suback = [0x90, 0x04, subscribe[2], subscribe[3], 0x00, 0x01];
        socket.write_all(&suback).await.unwrap();
        let publish = [0x30, 0x06, 0x00, 0x02, 0xc3, 0x28, 0x00, b'x'];
        socket.write_all(&publish).await.unwrap();
        // Until the other side ends it.
        while matches!(socket.read(&mut [0; 16]).await, Ok(n) if n > 0) {}
    });
    let mut line = Line::start(broker_at(port, MqttVersion::Five), false);
    let arrival = line.next_packet().await;
    assert_eq!(packet(&arrival).topic, "\u{fffd}(");
    assert!(arrival.receipt.is_none());
    line.stop().await;
    timeout(DEADLINE, odd).await.unwrap().unwrap();
}

#[tokio::test]
async fn odd_but_honest_topics_arrive_as_they_are() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let mut line = Line::start(broker.broker(version), false);
        line.up().await;
        for device in ["kuh 7", "Bläss", "牛", "🐄", "$t", "a\"b", "{device}", ""] {
            let topic = format!("yard/tail/{device}/state");
            broker.publish(&["-t", &topic, "-m", "x"]);
            assert_eq!(packet(&line.next().await).topic, topic);
        }
        line.stop().await;
    }
}

#[tokio::test]
async fn what_the_broker_kept_is_marked_and_what_comes_live_is_not() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "kept", "-r", "-q", "1"]);
        let mut line = Line::start(broker.broker(version), false);
        let kept = line.next_packet().await;
        assert_eq!((text(&kept), packet(&kept).retained), ("kept".into(), true));
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "live", "-r", "-q", "1"]);
        let live = line.next_packet().await;
        assert_eq!((text(&live), packet(&live).retained), ("live".into(), false));
        line.stop().await;
    }
}

#[tokio::test]
async fn another_program_with_our_name_is_suspected() {
    let broker = Mosquitto::start("").await;
    let mut line = Line::start(broker.broker(MqttVersion::Five), false);
    let mut other = Line::start(broker.broker(MqttVersion::Five), false);
    let why = "the broker closes the connection again and again: if another program uses the client \
               id \"lowbell\", stop it, or give each its own client-id";
    let why = LineNews::Down { why: why.to_owned() };
    tokio::select! {
        _ = line.next_of(|a| news(a) == Some(&why)) => {}
        _ = other.next_of(|a| news(a) == Some(&why)) => {}
    }
    other.stop().await;
    line.stop().await;
}

#[tokio::test]
async fn another_program_with_our_name_is_named_where_the_broker_names_it() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let broker = tokio::spawn(async move {
        let (mut socket, _) = listener.accept().await.unwrap();
        greeted(&mut socket).await;
        // CONNACK, then DISCONNECT with 0x8E and no properties, spelt out (MQTT 5 section 3.14).
        let yes_and_no = [0x20, 0x03, 0, 0, 0, 0xe0, 0x02, 0x8e, 0x00];
        socket.write_all(&yes_and_no).await.unwrap();
    });
    let mut line = Line::start(broker_at(port, MqttVersion::Five), false);
    let why = format!(
        "another program connected to the broker at 127.0.0.1:{port} with our client id \"lowbell\": \
         stop it, or give each its own client-id"
    );
    assert_eq!(line.news().await, LineNews::Down { why });
    broker.await.unwrap();
    line.stop().await;
}

#[tokio::test]
async fn an_old_broker_is_recognised_by_a_client_that_is_too_new() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let old = tokio::spawn(async move {
        let (mut socket, _) = listener.accept().await.unwrap();
        greeted(&mut socket).await;
        // MQTT 3.1.1 section 3.1.2.2: an unacceptable protocol level, return code 1, then the end.
        socket.write_all(&[0x20, 0x02, 0x00, 0x01]).await.unwrap();
    });
    let mut line = Line::start(broker_at(port, MqttVersion::Five), false);
    old.await.unwrap();
    let why = format!(
        "the broker at 127.0.0.1:{port} closed the connection without an answer: \
         if it is an old one, set version = \"3.1.1\" under [broker]"
    );
    assert_eq!(line.news().await, LineNews::Down { why });
    line.stop().await;
}

#[tokio::test]
async fn tls_is_checked_against_the_farms_own_authority() {
    let certs = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/certs");
    let broker = Mosquitto::start(&format!(
        "certfile {0}/server.pem\nkeyfile {0}/server.key",
        certs.display()
    ))
    .await;
    for version in BOTH {
        let mut settings = broker.broker(version);
        settings.way =
            BrokerWay::Url { host: "localhost".to_owned(), port: broker.port, tls: true };
        let mut stranger = settings.clone();
        stranger.ca = Some("stranger.pem".to_owned());
        settings.ca = Some("ca.pem".to_owned());
        let mut line = Line::start_in(settings, certs.clone(), false);
        line.up().await;
        line.stop().await;

        let mut line = Line::start_in(stranger, certs.clone(), false);
        let LineNews::Down { why } = line.news().await else {
            panic!("an unknown authority was believed");
        };
        assert_eq!(
            why,
            format!(
                "no trusted connection to the broker at localhost:{}: \
                 I/O: invalid peer certificate: UnknownIssuer; \
                 a certificate of the farm's own is named with ca under [broker]",
                broker.port
            )
        );
        line.stop().await;
    }
}

#[tokio::test]
async fn stopping_says_good_bye_and_a_full_inbox_does_not_hold_it_up() {
    for version in BOTH {
        let mut broker = Mosquitto::start("").await;
        let settings = broker.broker(version);
        let mut line = Line::start_with(settings, PathBuf::new(), &[TAIL], false, 1);
        line.up().await;
        let sent: Vec<String> = (0..50).map(|n| n.to_string()).collect();
        broker.publish_lines(&["-t", "yard/tail/t-07/state", "-q", "1"], &sent);
        assert_eq!(line.packets(1).await, ["0"]);
        // Nobody takes the rest: the line waits at the inbox when it is told to stop.
        line.stop().await;
        broker.logged("Received DISCONNECT from lowbell").await;
    }
}

#[tokio::test]
async fn a_slow_inbox_loses_nothing() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let settings = broker.broker(version);
        let mut line = Line::start_with(settings, PathBuf::new(), &[TAIL], false, 1);
        line.up().await;
        let sent: Vec<String> = (0..500).map(|n| n.to_string()).collect();
        broker.publish_lines(&["-t", "yard/tail/t-07/state", "-q", "1"], &sent);
        let mut heard = Vec::new();
        for _ in 0..500 {
            let arrival = line.next_packet().await;
            heard.push(text(&arrival));
            arrival.receipt.unwrap().confirm();
        }
        assert_eq!(heard, sent);
        line.stop().await;
    }
}

#[tokio::test]
async fn what_somebody_else_wants_goes_to_that_one_and_into_no_journal() {
    for version in BOTH {
        let broker = Mosquitto::start("").await;
        let (to, mut pictures) = mpsc::channel(4);
        let stills = Filter::parse("barn/{camera}/still").unwrap();
        let small = 1_000;
        let plan = Plan {
            asides: vec![(stills, to)],
            largest: small,
            ..plan(broker.broker(version), &[TAIL, "barn/north/#"])
        };
        let mut line = Line::start_by(plan, CROWD);
        line.up().await;
        // Larger than a sensor's word may be, and than what is let in where nobody wants pictures.
        let bytes = 1536 * 1024;
        broker.publish_bytes("barn/south/still", bytes, &["-q", "1"]);
        broker.publish_bytes("barn/north/still", small, &["-q", "1"]);
        broker.publish_bytes("yard/tail/t-08/state", small + 1, &["-q", "1"]);
        broker.publish(&["-t", "yard/tail/t-07/state", "-m", "behind", "-q", "1"]);
        let aside = timeout(DEADLINE, pictures.recv()).await.unwrap().unwrap();
        assert_eq!((aside.topic.as_str(), aside.payload.len()), ("barn/south/still", bytes));
        assert!(!aside.retained);
        let aside = timeout(DEADLINE, pictures.recv()).await.unwrap().unwrap();
        assert_eq!(aside.topic, "barn/north/still");
        // A sensor's filter means it too; with two filters that mean it the broker may bring it twice.
        let mut heard = Vec::new();
        while !heard.iter().any(|what| what == "behind") {
            let arrival = line.next().await;
            heard.push(match news(&arrival) {
                Some(news) => format!("{news:?}"),
                None if packet(&arrival).topic == "barn/north/still" => "still".to_owned(),
                None => text(&arrival),
            });
            arrival.receipt.unwrap().confirm();
        }
        heard.dedup();
        let large = LineNews::TooLarge {
            what: "a message of 1001 bytes on yard/tail/t-08/state".to_owned(),
        };
        assert_eq!(heard, ["still".to_owned(), format!("{large:?}"), "behind".to_owned()]);
        line.stop().await;

        let mut line = Line::start(broker.broker(version), true);
        line.up().await;
        broker.publish(&["-t", "yard/tail/t-09/state", "-m", "next", "-q", "1"]);
        assert_eq!(line.packets(1).await, ["next"], "the picture was acknowledged");
        line.stop().await;
    }
}

/// Room in a test's inbox where room does not matter.
const CROWD: usize = 64;

/// Who may do what at the broker of one test: everything, except to read in the kitchen.
const RIGHTS: &str = r#"{
  "defaultACLAccess": {"publishClientSend": true, "publishClientReceive": true,
                       "subscribe": true, "unsubscribe": true},
  "clients": [], "anonymousGroup": "all",
  "groups": [{"groupname": "all", "roles": [{"rolename": "guest"}]}],
  "roles": [{"rolename": "guest", "acls": [
    {"acltype": "subscribePattern", "topic": "kitchen/#", "priority": 1, "allow": false}]}]
}"#;

fn plan(broker: Broker, filters: &[&str]) -> Plan {
    Plan {
        broker,
        filters: filters.iter().map(|f| (*f).to_owned()).collect(),
        asides: Vec::new(),
        shown: None,
        largest: mqtt::PAYLOAD_MAX,
        base: PathBuf::new(),
        credentials: None,
        known: false,
    }
}

/// A line under test and everything it has said.
struct Line {
    arrivals: mpsc::Receiver<Arrival>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
    /// The news since the last `up` or `down` was waited for.
    news: Vec<LineNews>,
    all_news: Vec<LineNews>,
}

impl Line {
    fn start(broker: Broker, known: bool) -> Self {
        Self::start_in(broker, PathBuf::new(), known)
    }

    fn start_in(broker: Broker, base: PathBuf, known: bool) -> Self {
        Self::start_with(broker, base, &[TAIL], known, CROWD)
    }

    fn start_with(
        broker: Broker,
        base: PathBuf,
        filters: &[&str],
        known: bool,
        inbox: usize,
    ) -> Self {
        Self::start_by(Plan { base, known, ..plan(broker, filters) }, inbox)
    }

    fn start_by(plan: Plan, inbox: usize) -> Self {
        let (say, arrivals) = mpsc::channel(inbox);
        let (stop, stopped) = watch::channel(false);
        let run = mqtt::run(plan, say, stopped);
        Self { arrivals, stop, task: tokio::spawn(run), news: Vec::new(), all_news: Vec::new() }
    }

    async fn next(&mut self) -> Arrival {
        let arrival = timeout(DEADLINE, self.arrivals.recv()).await;
        let Ok(Some(arrival)) = arrival else {
            panic!("nothing more came after {:#?}", self.all_news);
        };
        if let Some(news) = news(&arrival) {
            self.news.push(news.clone());
            self.all_news.push(news.clone());
        }
        arrival
    }

    async fn next_of(&mut self, wanted: impl Fn(&Arrival) -> bool) -> Arrival {
        loop {
            let arrival = self.next().await;
            if wanted(&arrival) {
                return arrival;
            }
        }
    }

    async fn next_packet(&mut self) -> Arrival {
        self.next_of(|a| matches!(a.event, Event::Packet(_))).await
    }

    /// The next so many packets' texts; none is confirmed.
    async fn packets(&mut self, count: usize) -> Vec<String> {
        let mut texts = Vec::new();
        while texts.len() < count {
            texts.push(text(&self.next_packet().await));
        }
        texts
    }

    /// The next news, which must be the next thing heard.
    async fn news(&mut self) -> LineNews {
        let arrival = self.next().await;
        self.news.clear();
        news(&arrival).expect("news").clone()
    }

    /// Waits until it is up. What was said on the way is in `news`.
    async fn up(&mut self) {
        self.news.clear();
        self.next_of(|a| news(a) == Some(&LineNews::Up)).await;
    }

    async fn down(&mut self) {
        self.next_of(|a| matches!(news(a), Some(LineNews::Down { .. }))).await;
        self.news.clear();
    }

    async fn stop(&mut self) {
        self.stop.send_replace(true);
        timeout(DEADLINE, &mut self.task).await.expect("it stops in time").unwrap();
    }
}

fn news(arrival: &Arrival) -> Option<&LineNews> {
    let Event::Line(state) = &arrival.event else {
        return None;
    };
    assert_eq!(state.line.as_str(), "broker");
    Some(&state.news)
}

fn packet(arrival: &Arrival) -> &Packet {
    let Event::Packet(packet) = &arrival.event else {
        panic!("not a packet: {:?}", arrival.event);
    };
    packet
}

fn text(arrival: &Arrival) -> String {
    String::from_utf8(packet(arrival).payload.0.clone()).unwrap()
}

fn taken(filter: &str) -> LineNews {
    LineNews::SubscriptionTaken { filter: filter.to_owned() }
}

/// Leaves a session with a message of that size in its queue, and a small one behind it.
async fn queue_behind_large(broker: &Mosquitto, version: MqttVersion, bytes: usize) {
    let mut line = Line::start(broker.broker(version), false);
    line.up().await;
    line.stop().await;
    broker.publish_bytes("yard/tail/t-08/state", bytes, &["-q", "1"]);
    broker.publish(&["-t", "yard/tail/t-09/state", "-m", "behind", "-q", "1"]);
}

/// Reads one packet of fewer than 128 bytes, header and all.
async fn packet_bytes(socket: &mut TcpStream) -> Vec<u8> {
    let mut packet = vec![0; 2];
    socket.read_exact(&mut packet).await.unwrap();
    let length = usize::from(packet[1]);
    packet.resize(2 + length, 0);
    socket.read_exact(&mut packet[2..]).await.unwrap();
    packet
}

/// Reads the CONNECT packet.
async fn greeted(socket: &mut TcpStream) -> Vec<u8> {
    let connect = packet_bytes(socket).await;
    assert_eq!(connect[0], 0x10);
    connect
}

/// Where Debian puts the broker's plugin on this kind of machine.
fn find_plugin() -> PathBuf {
    let found = std::fs::read_dir("/usr/lib").unwrap().find_map(|entry| {
        let path = entry.ok()?.path().join("mosquitto_dynamic_security.so");
        path.exists().then_some(path)
    });
    found.expect("the Debian package mosquitto brings it")
}
