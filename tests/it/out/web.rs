//! Notices to a web receiver.

use lowbell::config::lines::Webhook;
use lowbell::line::Attempt;
use lowbell::line::secret::Secret;
use lowbell::line::webhook::{post, sign};
use lowbell::plain::moment::Span;
use wiremock::matchers::path;
use wiremock::{Mock, MockServer, Request, ResponseTemplate};

use super::{AMPLE, FAIR, closed_port, notice, with_ring};

/// 2026-11-25T09:46:40Z.
const NOW: i64 = 1_795_600_000;

// Standard Webhooks, the key of the reference libraries' own tests (WH-04).
const KEY: &str = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

/// Standard Webhooks (WH-01, WH-02, WH-07): the id and the body stay, the timestamp is the try's.
#[tokio::test]
async fn a_retry_has_the_same_id_and_bytes_and_a_timestamp_of_its_own() {
    let receiver = receiver(ResponseTemplate::new(503)).await;
    let key = Secret::new(KEY);
    for now in [NOW, NOW + 300] {
        let attempt = post(&line(&receiver), Some(&key), &notice(), now).await;
        let why = "127.0.0.1 answered 503".to_owned();
        assert_eq!(attempt, Attempt::Later { why, after: None });
    }
    let tries = receiver.received_requests().await.unwrap();
    assert_eq!(tries.len(), 2);
    for (request, now) in tries.iter().zip([NOW, NOW + 300]) {
        assert_eq!(request.method.as_str(), "POST");
        assert_eq!(request.body, notice().body.as_bytes());
        assert_eq!(header(request, "content-type"), "application/json");
        assert_eq!(header(request, "webhook-id"), "lowbell_7_31");
        assert_eq!(header(request, "webhook-timestamp"), now.to_string());
        let signed = sign(&key, "lowbell_7_31", now, notice().body.as_bytes()).unwrap();
        assert_eq!(header(request, "webhook-signature"), signed);
    }
}

/// Standard Webhooks (WH-12): 2xx alone is success, 410 ends it, 429 and 5xx slow us down.
#[tokio::test]
async fn every_status_has_its_meaning() {
    let receiver = MockServer::start().await;
    with_ring();
    for status in [200, 204, 299, 400, 401, 404, 408, 410, 422, 429, 500, 502, 503, 504] {
        let at = format!("/{status}");
        let answer = ResponseTemplate::new(status).set_body_string("so\nit is");
        Mock::given(path(at)).respond_with(answer).mount(&receiver).await;
    }
    let attempt = async |status: u16| {
        let mut line = line(&receiver);
        line.url = format!("{}/{status}", receiver.uri());
        post(&line, None, &notice(), NOW).await
    };
    let why = |status: u16| format!("127.0.0.1 answered {status}: so it is");
    for status in [200, 204, 299] {
        assert_eq!(attempt(status).await, Attempt::Taken, "{status}");
    }
    for status in [400, 401, 404, 422] {
        assert_eq!(attempt(status).await, Attempt::Never { why: why(status) });
    }
    for status in [408, 429, 500, 502, 503, 504] {
        let later = Attempt::Later { why: why(status), after: None };
        assert_eq!(attempt(status).await, later);
    }
    assert_eq!(attempt(410).await, Attempt::Gone { why: why(410) });
}

/// RFC 9110 section 10.2.3 (WH-15): seconds, or a date; a day at most.
#[tokio::test]
async fn a_receiver_is_given_the_time_that_it_asks_for() {
    for (wait, after) in [
        ("120", Some(Span::seconds(120))),
        ("Wed, 25 Nov 2026 09:56:40 GMT", Some(Span::minutes(10))),
        ("Wed, 25 Nov 2026 09:00:00 GMT", Some(Span::ZERO)),
        ("Fri, 25 Dec 2026 09:46:40 GMT", Some(Span::hours(24))),
        ("999999999999999999999", Some(Span::hours(24))),
        ("a while", None),
    ] {
        let answer = ResponseTemplate::new(429).insert_header("retry-after", wait);
        let receiver = receiver(answer).await;
        let attempt = post(&line(&receiver), None, &notice(), NOW).await;
        let why = "127.0.0.1 answered 429".to_owned();
        assert_eq!(attempt, Attempt::Later { why, after }, "{wait}");
    }
}

#[tokio::test]
async fn a_slow_answer_leaves_us_unsure_and_no_listener_does_not() {
    let slow = ResponseTemplate::new(200).set_delay(super::DEADLINE);
    let receiver = receiver(slow).await;
    let mut line = line(&receiver);
    line.timeout = FAIR;
    assert_eq!(
        post(&line, None, &notice(), NOW).await,
        Attempt::Unsure { why: "127.0.0.1 gave no answer within 2 s".to_owned() }
    );
    line.timeout = AMPLE;
    line.url = format!("http://127.0.0.1:{}/hook?key=bellwether", closed_port().await);
    let attempt = post(&line, None, &notice(), NOW).await;
    let Attempt::Later { why, after: None } = attempt else {
        panic!("{attempt:?}");
    };
    assert!(why.contains("Connection refused"), "{why}");
    assert!(!why.contains("bellwether"), "a key in the address: {why}");
}

#[tokio::test]
async fn a_redirect_is_not_followed() {
    let receiver = MockServer::start().await;
    with_ring();
    for status in [301, 302, 303, 307, 308] {
        let elsewhere = format!("{}/other", receiver.uri());
        let away = ResponseTemplate::new(status).insert_header("location", elsewhere);
        let at = format!("/{status}");
        Mock::given(path(at)).respond_with(away).mount(&receiver).await;
    }
    Mock::given(path("/other"))
        .respond_with(ResponseTemplate::new(200))
        .expect(0)
        .mount(&receiver)
        .await;
    for status in [301, 302, 303, 307, 308] {
        let mut line = line(&receiver);
        line.url = format!("{}/{status}", receiver.uri());
        assert_eq!(
            post(&line, None, &notice(), NOW).await,
            Attempt::Never {
                why: format!(
                    "127.0.0.1 answered {status} \
                     (it sends us elsewhere; put the final address into url)"
                )
            }
        );
    }
}

#[tokio::test]
async fn a_receiver_on_the_farms_own_network_must_be_meant() {
    let receiver = receiver(ResponseTemplate::new(200)).await;
    let mut line = line(&receiver);
    line.allow_private = false;
    assert_eq!(
        post(&line, None, &notice(), NOW).await,
        Attempt::Never {
            why: "127.0.0.1 leads to 127.0.0.1, which is this machine or a private network; \
                  if that is meant, set allow-private = true on line hook"
                .to_owned()
        }
    );
    assert_eq!(receiver.received_requests().await.unwrap().len(), 0);
}

#[tokio::test]
async fn a_notice_that_should_be_signed_never_goes_unsigned() {
    let receiver = receiver(ResponseTemplate::new(200)).await;
    let mut line = line(&receiver);
    line.secret_file = Some("hook.secret".to_owned());
    assert_eq!(
        post(&line, None, &notice(), NOW).await,
        Attempt::Later {
            why: "the secret file of line hook was not read, so nothing can be signed".to_owned(),
            after: None
        }
    );
    assert_eq!(
        post(&line, Some(&Secret::new("bell")), &notice(), NOW).await,
        Attempt::Never {
            why: "the webhook's key does not begin with whsec_; copy it whole from the receiver"
                .to_owned()
        }
    );
    assert_eq!(receiver.received_requests().await.unwrap().len(), 0);
}

async fn receiver(answer: ResponseTemplate) -> MockServer {
    with_ring();
    let receiver = MockServer::start().await;
    Mock::given(path("/hook")).respond_with(answer).mount(&receiver).await;
    receiver
}

fn header<'a>(request: &'a Request, name: &str) -> &'a str {
    request.headers[name].to_str().unwrap()
}

fn line(receiver: &MockServer) -> Webhook {
    Webhook {
        url: format!("{}/hook", receiver.uri()),
        secret_file: None,
        timeout: AMPLE,
        allow_private: true,
    }
}
