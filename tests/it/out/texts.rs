//! Texts out, against a gateway that answers in every way gateways do.

use futures_util::future::join_all;
use lowbell::alarm::message::Message;
use lowbell::config::lines::{Escape, SmsHttp, SmsSuccess};
use lowbell::line::Attempt;
use lowbell::line::secret::Secret;
use lowbell::line::sms::send;
use lowbell::plain::moment::Span;
use wiremock::matchers::{body_string_contains, method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::{AMPLE, FAIR, closed_port, message, with_ring};

#[tokio::test]
async fn the_gateway_gets_what_the_settings_describe() {
    let gate = gateway(ResponseTemplate::new(202)).await;
    let mut line = line(&gate);
    line.method = "PUT".to_owned();
    line.headers = vec![("X-Key".to_owned(), "key {secret}".to_owned())];
    let secret = Secret::new("bellwether");
    let attempt = send(&line, Some(&secret), &to("+353860000001")).await;
    assert_eq!(attempt, Attempt::Taken);
    let requests = gate.received_requests().await.unwrap();
    assert_eq!(requests.len(), 1);
    let request = &requests[0];
    assert_eq!(request.method.as_str(), "PUT");
    assert_eq!(request.url.path(), "/send");
    assert_eq!(request.headers["x-key"], "key bellwether");
    assert_eq!(request.headers["content-type"], "application/json");
    let body: serde_json::Value = serde_json::from_slice(&request.body).unwrap();
    assert_eq!(
        body,
        serde_json::json!({
            "to": "+353860000001",
            "text": "114 home field: \"water bag\" 02:05",
            "ref": "lowbell.7.12",
        })
    );
}

#[tokio::test]
async fn the_success_test_decides() {
    let later = |why: &str| Attempt::Later { why: why.to_owned(), after: None };
    let never = |why: &str| Attempt::Never { why: why.to_owned() };
    let ok = r#"{"status":"queued"}"#;
    for (status, answer, accepted, contains, expected) in [
        (200, ok, vec![], None, Attempt::Taken),
        (299, "", vec![], None, Attempt::Taken),
        (200, ok, vec![], Some("queued"), Attempt::Taken),
        (201, ok, vec![200, 201], Some("queued"), Attempt::Taken),
        (
            200,
            "error=17\nno credit",
            vec![],
            Some("queued"),
            later("127.0.0.1 answered 200 without the expected words: error=17 no credit"),
        ),
        (200, ok, vec![202], None, later("127.0.0.1 answered 200: {\"status\":\"queued\"}")),
        (400, "no such number", vec![], None, never("127.0.0.1 answered 400: no such number")),
        (404, "", vec![], None, never("127.0.0.1 answered 404: (nothing more)")),
        (503, "queued", vec![], Some("queued"), later("127.0.0.1 answered 503: queued")),
    ] {
        let gate = gateway(ResponseTemplate::new(status).set_body_string(answer)).await;
        let mut line = line(&gate);
        line.success = SmsSuccess { status: accepted, contains: contains.map(str::to_owned) };
        let attempt = send(&line, None, &to("+353860000001")).await;
        assert_eq!(attempt, expected, "{status} {answer}");
    }
}

#[tokio::test]
async fn a_long_complaint_is_cut_and_does_not_repeat_the_secret() {
    let complaint = format!("bad key bellwether {}", "x".repeat(100_000));
    let gate = gateway(ResponseTemplate::new(403).set_body_string(complaint)).await;
    let secret = Secret::new("bellwether");
    let attempt = send(&line(&gate), Some(&secret), &to("+353860000001")).await;
    let shown = format!("bad key (secret) {}", "x".repeat(200 - 17));
    let why = format!("127.0.0.1 answered 403: {shown}…");
    assert_eq!(attempt, Attempt::Never { why });
}

#[tokio::test]
async fn only_the_beginning_of_an_endless_answer_is_read() {
    let answer = format!("{}queued", " ".repeat(64 * 1024));
    let gate = gateway(ResponseTemplate::new(200).set_body_string(answer)).await;
    let mut line = line(&gate);
    line.success.contains = Some("queued".to_owned());
    assert_eq!(
        send(&line, None, &to("+353860000001")).await,
        Attempt::Later {
            why: "127.0.0.1 answered 200 without the expected words: (nothing more)".to_owned(),
            after: None
        }
    );
}

/// RFC 9110 section 10.2.3 (WH-15): seconds, or a date; here a date beside the gateway's own.
#[tokio::test]
async fn a_busy_gateway_is_given_the_time_that_it_asks_for() {
    for (status, wait, after) in [
        (429, Some("120"), Some(Span::seconds(120))),
        (429, Some("Fri, 31 Dec 1999 23:59:59 GMT"), Some(Span::seconds(59))),
        (500, Some("30"), Some(Span::seconds(30))),
        (502, None, None),
    ] {
        let mut answer =
            ResponseTemplate::new(status).insert_header("date", "Fri, 31 Dec 1999 23:59:00 GMT");
        if let Some(wait) = wait {
            answer = answer.insert_header("retry-after", wait);
        }
        let gate = gateway(answer).await;
        assert_eq!(
            send(&line(&gate), None, &to("+353860000001")).await,
            Attempt::Later { why: format!("127.0.0.1 answered {status}: (nothing more)"), after }
        );
    }
}

#[tokio::test]
async fn no_answer_leaves_us_unsure_and_no_listener_does_not() {
    let slow = ResponseTemplate::new(200).set_delay(super::DEADLINE);
    let gate = gateway(slow).await;
    let mut line = line(&gate);
    line.timeout = FAIR;
    assert_eq!(
        send(&line, None, &to("+353860000001")).await,
        Attempt::Unsure { why: "127.0.0.1 gave no answer within 2 s".to_owned() }
    );
    line.timeout = AMPLE;
    line.url = format!("http://127.0.0.1:{}/", closed_port().await);
    let attempt = send(&line, None, &to("+353860000001")).await;
    let Attempt::Later { why, after: None } = attempt else {
        panic!("{attempt:?}");
    };
    assert!(why.starts_with("127.0.0.1 cannot be reached: "), "{why}");
    assert!(why.contains("Connection refused"), "{why}");
}

#[tokio::test]
async fn a_redirect_is_not_followed() {
    let gate = MockServer::start().await;
    let elsewhere = format!("{}/other", gate.uri());
    let away = ResponseTemplate::new(307).insert_header("location", elsewhere);
    Mock::given(path("/send")).respond_with(away).mount(&gate).await;
    Mock::given(path("/other"))
        .respond_with(ResponseTemplate::new(200))
        .expect(0)
        .mount(&gate)
        .await;
    with_ring();
    assert_eq!(
        send(&line(&gate), None, &to("+353860000001")).await,
        Attempt::Never {
            why: "127.0.0.1 answered 307: (nothing more) \
                  (it sends us elsewhere; put the final address into url)"
                .to_owned()
        }
    );
}

#[tokio::test]
async fn one_bad_number_does_not_stop_nine_good_ones() {
    let gate = MockServer::start().await;
    Mock::given(body_string_contains("\"+353860000004\""))
        .respond_with(ResponseTemplate::new(422).set_body_string("no such number"))
        .with_priority(1)
        .mount(&gate)
        .await;
    Mock::given(method("POST")).respond_with(ResponseTemplate::new(200)).mount(&gate).await;
    with_ring();
    let line = line(&gate);
    let texts: Vec<Message> = (0..10).map(|n| to(&format!("+35386000000{n}"))).collect();
    let attempts = join_all(texts.iter().map(|text| send(&line, None, text))).await;
    for (n, attempt) in attempts.into_iter().enumerate() {
        let expected = match n {
            4 => Attempt::Never { why: "127.0.0.1 answered 422: no such number".to_owned() },
            _ => Attempt::Taken,
        };
        assert_eq!(attempt, expected, "number {n}");
    }
    assert_eq!(gate.received_requests().await.unwrap().len(), 10);
}

#[tokio::test]
async fn a_gateway_on_the_farms_own_network_must_be_meant() {
    let gate = gateway(ResponseTemplate::new(200)).await;
    let mut line = line(&gate);
    line.allow_private = false;
    line.url = format!("http://localhost:{}/send", gate.address().port());
    let attempt = send(&line, None, &to("+353860000001")).await;
    let Attempt::Never { why } = attempt else {
        panic!("{attempt:?}");
    };
    assert!(why.ends_with("if that is meant, set allow-private = true on line mail"), "{why}");
    assert_eq!(gate.received_requests().await.unwrap().len(), 0);
}

async fn gateway(answer: ResponseTemplate) -> MockServer {
    with_ring();
    let gate = MockServer::start().await;
    Mock::given(path("/send")).respond_with(answer).mount(&gate).await;
    gate
}

fn to(mobile: &str) -> Message {
    Message { text: "114 home field: \"water bag\" 02:05".to_owned(), ..message("Ana", mobile) }
}

fn line(gate: &MockServer) -> SmsHttp {
    SmsHttp {
        url: format!("{}/send", gate.uri()),
        method: "POST".to_owned(),
        headers: Vec::new(),
        body: r#"{"to":"{to}","text":"{text}","ref":"{id}"}"#.to_owned(),
        escape: Escape::Json,
        secret_file: None,
        success: SmsSuccess { status: Vec::new(), contains: None },
        timeout: AMPLE,
        allow_private: true,
        letters: Default::default(),
    }
}
