//! Gives calendars out over HTTP/1.1 (RFC 9112): one kind of path, one kind of answer, nothing that can be changed.
//!
//! What is asked for is a secret that nobody can guess; whoever asks for anything else learns nothing, and no word about a
//! request is kept. A caller who is slow or comes in crowds is let go.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use bytes::Bytes;
use http_body_util::Full;
use hyper::header::{self, HeaderValue};
use hyper::{Method, Request, Response, StatusCode, body::Incoming, service::service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};

/// A page of a calendar program asks in one packet.
const HEADERS_WITHIN: Duration = Duration::from_secs(10);
const ALL_WITHIN: Duration = Duration::from_secs(30);
const AT_ONCE: usize = 16;
const HEADERS_MAX: usize = 16 * 1024;
/// The secret stands between these.
const BEFORE: &str = "/calendar/";
const BEHIND: &str = ".ics";

/// What is found for a secret.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Given {
    Calendar {
        text: String,
        /// The same for the same entries, whenever they are asked for.
        mark: String,
    },
    Unknown,
    /// It cannot be made just now.
    NotNow,
}

/// The path at which a secret is asked for.
pub fn path(secret: &str) -> String {
    format!("{BEFORE}{secret}{BEHIND}")
}

/// Answers until it is told to stop. `give` looks a secret up.
pub async fn serve<G, F>(listener: TcpListener, give: G, mut stop: watch::Receiver<bool>)
where
    G: Fn(String) -> F + Clone + Send + Sync + 'static,
    F: Future<Output = Given> + Send + 'static,
{
    let room = Arc::new(Semaphore::new(AT_ONCE));
    loop {
        let accepted = tokio::select! {
            _ = stop.wait_for(|stop| *stop) => return,
            accepted = listener.accept() => accepted,
        };
        let Ok((stream, _)) = accepted else {
            // Out of file handles: not faster than somebody can hang up.
            tokio::time::sleep(Duration::from_secs(1)).await;
            continue;
        };
        // Whoever comes while all are busy is hung up on and asks again.
        let Ok(place) = room.clone().try_acquire_owned() else { continue };
        let (give, mut stop) = (give.clone(), stop.clone());
        tokio::spawn(async move {
            let _place = place;
            let service = service_fn(move |request| answer(request, give.clone()));
            let talk = hyper::server::conn::http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEADERS_WITHIN)
                .max_buf_size(HEADERS_MAX)
                .keep_alive(false)
                .serve_connection(TokioIo::new(stream), service);
            tokio::select! {
                _ = stop.wait_for(|stop| *stop) => {}
                // A caller who breaks off is no fault of ours.
                _ = tokio::time::timeout(ALL_WITHIN, talk) => {}
            }
        });
    }
}

async fn answer<G, F>(
    request: Request<Incoming>,
    give: G,
) -> Result<Response<Full<Bytes>>, Infallible>
where
    G: Fn(String) -> F,
    F: Future<Output = Given>,
{
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        let mut refused =
            plain(StatusCode::METHOD_NOT_ALLOWED, "Only GET and HEAD are answered.\n");
        refused.headers_mut().insert(header::ALLOW, HeaderValue::from_static("GET, HEAD"));
        return Ok(refused);
    }
    let asked = request.uri().path().strip_prefix(BEFORE);
    let secret = asked.and_then(|rest| rest.strip_suffix(BEHIND)).filter(|rest| !rest.is_empty());
    let given = match secret {
        Some(secret) => give(secret.to_owned()).await,
        None => Given::Unknown,
    };
    Ok(match given {
        Given::Calendar { text, mark } => calendar(&request, text, &mark),
        Given::Unknown => plain(StatusCode::NOT_FOUND, "There is nothing here.\n"),
        Given::NotNow => plain(StatusCode::SERVICE_UNAVAILABLE, "Not now; ask again.\n"),
    })
}

fn calendar(request: &Request<Incoming>, text: String, mark: &str) -> Response<Full<Bytes>> {
    let mark = format!("W/\"{mark}\"");
    let known = request.headers().get(header::IF_NONE_MATCH);
    let is_known = known
        .and_then(|known| known.to_str().ok())
        .is_some_and(|known| known.split(',').any(|one| one.trim() == mark || one.trim() == "*"));
    let mut answer = if is_known {
        let mut same = plain(StatusCode::NOT_MODIFIED, "");
        same.headers_mut().remove(header::CONTENT_TYPE);
        same
    } else {
        let mut whole = Response::new(Full::new(Bytes::from(text)));
        let kind = HeaderValue::from_static("text/calendar; charset=utf-8");
        whole.headers_mut().insert(header::CONTENT_TYPE, kind);
        whole
    };
    let headers = answer.headers_mut();
    // It is one person's: nothing between us may keep it, and the program itself asks each time.
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    headers.extend(HeaderValue::from_str(&mark).map(|mark| (header::ETAG, mark)));
    answer
}

fn plain(status: StatusCode, text: &'static str) -> Response<Full<Bytes>> {
    let mut answer = Response::new(Full::new(Bytes::from_static(text.as_bytes())));
    *answer.status_mut() = status;
    let kind = HeaderValue::from_static("text/plain; charset=utf-8");
    answer.headers_mut().insert(header::CONTENT_TYPE, kind);
    answer
}
