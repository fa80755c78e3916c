//! Pictures: what each trap of a camera does to one fetch, and what a mail with a picture is made of.

use std::path::Path;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use bytes::Bytes;
use lowbell::alarm::message::{Message, MessageKind};
use lowbell::config::cameras::StillUrl;
use lowbell::config::lines::{Security, Server, Smtp};
use lowbell::line::Attempt;
use lowbell::line::picture::{Fetched, Form, Picture, fetch};
use lowbell::line::secret::Secret;
use lowbell::line::smtp::{Enclosed, Named, compose_with, send_enclosed};
use lowbell::plain::ids::{DeviceId, MessageNo};
use lowbell::plain::moment::{Moment, Span};
use mail_parser::{MessageParser, MimeHeaders};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use wiremock::matchers::{header, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::{AMPLE, DEADLINE, SHORT, message, with_ring};
use crate::post_office::PostOffice;

/// A farm's usual cap.
const LARGEST: usize = 2 * 1024 * 1024;

/// The first bytes of a JPEG and then noise, so that nothing packs it smaller.
pub(crate) fn jpeg(bytes: usize) -> Vec<u8> {
    let mut picture = vec![0xff, 0xd8, 0xff, 0xe0];
    let mut state: u32 = 7;
    while picture.len() < bytes {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        picture.push(state.to_be_bytes()[0]);
    }
    picture
}

fn still(url: String) -> StillUrl {
    StillUrl { url, user: None, password_file: None, ca: None, allow_private: true }
}

async fn fetched(answer: ResponseTemplate) -> Result<Fetched, String> {
    let camera = MockServer::start().await;
    Mock::given(path("/still.jpg")).respond_with(answer).mount(&camera).await;
    let still = still(format!("{}/still.jpg", camera.uri()));
    fetch("cam-1", &still, None, Path::new("."), LARGEST, AMPLE).await
}

async fn refused(answer: ResponseTemplate) -> String {
    fetched(answer).await.unwrap_err()
}

fn with_type(bytes: Vec<u8>, kind: &str) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_raw(bytes, kind)
}

#[tokio::test]
async fn a_picture_comes_byte_for_byte_whatever_type_it_claims() {
    with_ring();
    let bytes = jpeg(300_000);
    let got = fetched(with_type(bytes.clone(), "text/html")).await.unwrap();
    assert_eq!((got.picture.form, got.age), (Form::Jpeg, Span::ZERO));
    assert_eq!(got.picture.bytes, bytes);
    let png = b"\x89PNG\r\n\x1a\nrest".to_vec();
    let got = fetched(with_type(png, "image/jpeg")).await.unwrap();
    assert_eq!(got.picture.form, Form::Png);
    assert_eq!(
        fetched(with_type(jpeg(LARGEST), "image/jpeg")).await.unwrap().picture.bytes.len(),
        LARGEST
    );
}

#[tokio::test]
async fn what_is_no_picture_is_said_in_words_for_the_mail() {
    with_ring();
    for (answer, why) in [
        (
            with_type(b"<html>Please log in</html>".to_vec(), "text/html"),
            "what 127.0.0.1 sent is no JPEG or PNG, but text/html",
        ),
        (with_type(jpeg(LARGEST + 1), "image/jpeg"), "127.0.0.1 sent more than 2097152 bytes"),
        (with_type(jpeg(10 * 1024 * 1024), "image/jpeg"), "127.0.0.1 sent more than 2097152 bytes"),
        (
            ResponseTemplate::new(401),
            "127.0.0.1 answered 401: check user and password-file of the camera",
        ),
        (
            ResponseTemplate::new(401).insert_header("WWW-Authenticate", "Digest realm=\"barn\""),
            "127.0.0.1 wants a login of the kind Digest, only Basic is spoken",
        ),
        (
            ResponseTemplate::new(302).insert_header("Location", "http://203.0.113.9/still.jpg"),
            "127.0.0.1 answered 302 and sends us elsewhere; put the final address into still",
        ),
        (ResponseTemplate::new(204), "127.0.0.1 answered 204"),
        (ResponseTemplate::new(503), "127.0.0.1 answered 503"),
    ] {
        assert_eq!(refused(answer).await, why);
    }
}

/// Sources: RFC 9110 section 8.8.2 (Last-Modified) and RFC 9111 section 5.1 (Age): what a camera or a store
/// on the way says of its picture's age counts.
#[tokio::test]
async fn a_picture_from_before_is_not_taken_for_new() {
    with_ring();
    let answer = || with_type(jpeg(100), "image/jpeg");
    let dated = answer()
        .insert_header("Date", "Sun, 06 Nov 1994 09:01:37 GMT")
        .insert_header("Last-Modified", "Sun, 06 Nov 1994 08:49:37 GMT");
    assert_eq!(fetched(dated).await.unwrap().age, Span::minutes(12));
    let stored = answer().insert_header("Age", "90");
    assert_eq!(fetched(stored).await.unwrap().age, Span::seconds(90));
    let ahead = answer()
        .insert_header("Date", "Sun, 06 Nov 1994 08:49:37 GMT")
        .insert_header("Last-Modified", "Sun, 06 Nov 1994 08:50:37 GMT");
    assert_eq!(fetched(ahead).await.unwrap().age, Span::ZERO, "nothing is taken in the future");
}

/// RFC 7617 section 2: user and password as Basic; the secret stands in no word of a refusal.
#[tokio::test]
async fn the_camera_hears_user_and_password() {
    with_ring();
    let camera = MockServer::start().await;
    let login = format!("Basic {}", STANDARD.encode("lowbell:hay:oats"));
    Mock::given(header("Authorization", login.as_str()))
        .respond_with(with_type(jpeg(100), "image/jpeg"))
        .mount(&camera)
        .await;
    let still = StillUrl { user: Some("lowbell".to_owned()), ..still(camera.uri()) };
    let with = async |password: Option<&str>| {
        let secret = password.map(Secret::new);
        fetch("cam-1", &still, secret.as_ref(), Path::new("."), LARGEST, AMPLE).await
    };
    assert!(with(Some("hay:oats")).await.is_ok());
    assert_eq!(with(Some("straw")).await.unwrap_err(), "127.0.0.1 answered 404");
    let why = with(None).await.unwrap_err();
    assert_eq!(why, "the camera's password was not read; check password-file");
}

#[tokio::test]
async fn a_camera_that_says_nothing_or_breaks_off_is_left_in_time() {
    with_ring();
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let still = still(format!("http://{}/still.jpg", listener.local_addr().unwrap()));
    let one = async |limit| fetch("cam-1", &still, None, Path::new("."), LARGEST, limit).await;
    assert_eq!(one(SHORT).await.unwrap_err(), "127.0.0.1 gave no answer within 300 ms");
    // The first link is still in the queue: nobody has answered it.
    drop(listener.accept().await.unwrap());
    let half = async {
        let (mut link, _) = listener.accept().await.unwrap();
        let mut heard = Vec::new();
        while !heard.ends_with(b"\r\n\r\n") {
            heard.push(link.read_u8().await.unwrap());
        }
        link.write_all(b"HTTP/1.1 200 OK\r\nContent-Length: 1000\r\n\r\n").await.unwrap();
        link.write_all(&jpeg(100)).await.unwrap();
    };
    let (broken, ()) = tokio::join!(one(AMPLE), half);
    let why = broken.unwrap_err();
    assert!(why.starts_with("127.0.0.1 broke off: "), "half a picture is none: {why}");
}

/// standards.md SE-16 (ASVS 1.3.6): a camera's address does not lead into the farm unless that is said.
#[tokio::test]
async fn an_address_within_the_farm_must_be_meant() {
    with_ring();
    let still = StillUrl { allow_private: false, ..still("http://localhost:9/".to_owned()) };
    let why = fetch("cam-1", &still, None, Path::new("."), LARGEST, AMPLE).await.unwrap_err();
    assert!(why.ends_with("if that is meant, set allow-private = true on camera cam-1"), "{why}");
}

fn picture_mail() -> Message {
    Message {
        kind: MessageKind::Picture {
            camera: DeviceId::new("cam-1"),
            follows: MessageNo(11),
            raised: Moment::from_rfc3339("2026-11-25T02:05:09Z").unwrap(),
        },
        subject: "114 home field: picture from cam-1 K4T7".to_owned(),
        text: "unused".to_owned(),
        in_reply_to: Some("lowbell.7.11@hollowbank.example".to_owned()),
        ..message("Ana", "ana@hollowbank.example")
    }
}

fn enclosed(bytes: Vec<u8>) -> Enclosed {
    let picture = Picture::of(Bytes::from(bytes)).unwrap();
    let text = "Picture from cam-1, taken 4 s after the alert. Zoë sagt „schau nach“.\n".to_owned();
    Enclosed { text, picture: Some(Named { name: "cam-1.jpg".to_owned(), picture }) }
}

fn line(port: u16) -> Smtp {
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
        reply_to: None,
        timeout: AMPLE,
    }
}

/// RFC 2046 section 5.1 (parts and boundary), RFC 2045 section 6.8 (base64 in lines of 76), RFC 5322 section
/// 2.1.1 (EM-01), RFC 3834 section 5 (EM-15), RFC 5322 section 3.6.4 (EM-07); read back by another library.
#[test]
fn a_mail_with_a_picture_has_the_text_first_and_the_picture_as_it_was() {
    let bytes = jpeg(300_000);
    let mail = || compose_with(&line(25), &picture_mail(), &enclosed(bytes.clone())).unwrap();
    let raw = mail().formatted();
    assert_eq!(raw, mail().formatted(), "the same on every try");
    for line in raw.split(|b| *b == b'\n') {
        assert!(line.is_ascii() && line.len() <= 79, "{}", String::from_utf8_lossy(line));
    }
    let parsed = MessageParser::default().parse(&raw).unwrap();
    assert_eq!(parsed.header("Auto-Submitted").unwrap().as_text(), Some("auto-generated"));
    assert_eq!(parsed.in_reply_to().as_text(), Some("lowbell.7.11@hollowbank.example"));
    assert_eq!(parsed.message_id(), Some("lowbell.7.12@hollowbank.example"));
    let kind = parsed.content_type().unwrap();
    assert_eq!((kind.ctype(), kind.subtype()), ("multipart", Some("mixed")));
    assert_eq!(
        parsed.body_text(0).unwrap().trim_end(),
        "Picture from cam-1, taken 4 s after the alert. Zoë sagt „schau nach“."
    );
    assert_eq!(parsed.text_body, [1], "the text is the first part");
    assert_eq!(parsed.attachment_count(), 1);
    let picture = parsed.attachment(0).unwrap();
    assert_eq!(picture.contents(), bytes);
    assert_eq!(picture.attachment_name(), Some("cam-1.jpg"));
    let kind = picture.content_type().unwrap();
    assert_eq!((kind.ctype(), kind.subtype()), ("image", Some("jpeg")));
}

#[tokio::test]
async fn a_mail_with_a_picture_of_two_mebibytes_goes_over_whole() {
    let office = PostOffice::start().await;
    let bytes = jpeg(LARGEST);
    let (message, enclosed) = (picture_mail(), enclosed(bytes.clone()));
    let line = line(office.port());
    let attempt = send_enclosed(&line, None, Path::new("."), &message, &enclosed).await;
    assert_eq!(attempt, Attempt::Taken);
    let mails = office.wait_for(1, DEADLINE).await;
    let parsed = MessageParser::default().parse(mails[0].raw.as_bytes()).unwrap();
    assert!(parsed.attachment(0).unwrap().contents() == bytes, "the picture came over changed");
}

#[test]
fn without_a_picture_the_mail_is_plain_text_that_says_why() {
    let text = "No picture could be had from cam-1: it hung. The call stands.\n".to_owned();
    let enclosed = Enclosed { text, picture: None };
    let raw = compose_with(&line(25), &picture_mail(), &enclosed).unwrap().formatted();
    let parsed = MessageParser::default().parse(&raw).unwrap();
    assert_eq!(parsed.content_type().unwrap().ctype(), "text");
    assert_eq!(
        parsed.body_text(0).unwrap().trim_end(),
        "No picture could be had from cam-1: it hung. The call stands."
    );
    assert_eq!(parsed.attachment_count(), 0);
}
