//! What stands before every request: only this machine's own page is answered, in bounds and in time.

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde_json::json;
use std::time::Duration;

/// Largest body (bytes): two set-ups and room.
pub(crate) const LARGEST_BODY: usize = 256 * 1024;
/// A request is answered in this time or not at all.
const PATIENCE: Duration = Duration::from_secs(30);

/// The chart library writes its own rules of style into the page, so style alone may stand inline.
const POLICY: &str = "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; \
                      object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// A refusal, in a sentence.
pub(crate) fn refusal(status: StatusCode, why: &str) -> Response {
    (status, axum::Json(json!({ "error": why }))).into_response()
}

/// Names by which the page may be called, with its port.
#[derive(Clone)]
pub(crate) struct Names(pub(crate) [String; 2]);

impl Names {
    /// The names on a port.
    pub(crate) fn on(port: u16) -> Names {
        Names([format!("127.0.0.1:{port}"), format!("localhost:{port}")])
    }

    fn is_host(&self, host: Option<&HeaderValue>) -> bool {
        host.is_some_and(|h| self.0.iter().any(|n| h.as_bytes() == n.as_bytes()))
    }

    fn is_origin(&self, origin: &HeaderValue) -> bool {
        let own = |n: &String| origin.as_bytes().strip_prefix(b"http://") == Some(n.as_bytes());
        self.0.iter().any(own)
    }

    fn refused(&self, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
        if !self.is_host(headers.get(header::HOST)) {
            return Some("this page answers under its own address on this machine only");
        }
        if headers.get(header::ORIGIN).is_some_and(|o| !self.is_origin(o)) {
            return Some("another page must not ask this one");
        }
        let json = headers.get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes() == b"application/json");
        if *method == Method::POST && !json {
            return Some("a question is application/json");
        }
        None
    }
}

/// Refuses what does not come from the page itself; sets the rules that a browser keeps; ends what takes too long.
pub(crate) async fn guard(State(names): State<Names>, request: Request, next: Next) -> Response {
    let mut response = match names.refused(request.method(), request.headers()) {
        Some(why) => refusal(StatusCode::FORBIDDEN, why),
        None => match tokio::time::timeout(PATIENCE, next.run(request)).await {
            Ok(response) => told(response),
            Err(_) => refusal(StatusCode::REQUEST_TIMEOUT, "the request took too long"),
        },
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Refusals of the layers below have no sentence of ours: they get one.
fn told(response: Response<Body>) -> Response {
    let status = response.status();
    let ours =
        response.headers().get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes() == b"application/json");
    if ours || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let why = match status {
        StatusCode::NOT_FOUND => "there is no such page",
        StatusCode::METHOD_NOT_ALLOWED => "this address is not asked in that way",
        StatusCode::PAYLOAD_TOO_LARGE => "the request is too long: allowed are 256 kB",
        _ => "the request cannot be read",
    };
    refusal(if status.is_server_error() { StatusCode::BAD_REQUEST } else { status }, why)
}
