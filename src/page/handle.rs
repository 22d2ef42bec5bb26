//! Turns requests into answers.

use super::assets;
use super::door::{Barred, Entry, cookie_name, enter};
use super::form::{BOOK, Form, TOKEN, Upload};
use super::frame::{Frame, bare};
use super::key::Key;
use super::mark::Mark;
use super::route::{Answer, Attached, Content, Route, Show};
use super::server::Local;
use super::turned::Turned;
use crate::book::BookError;
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::CliError;
use axum::Router;
use axum::body::{Body, Bytes, HttpBody, to_bytes};
use axum::extract::{DefaultBodyLimit, FromRequest, Multipart, Request};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio::time::{sleep, timeout};

/// The largest body, in bytes.
pub(crate) const LARGEST: usize = 8 * 1024 * 1024;
/// How many large bodies may be in memory at one time. Small ones, such as a phone sends, do not
/// wait.
const BODIES: usize = 2;
const SMALL: u64 = 64 * 1024;
/// Time limit for a body.
const SENDING: Duration = Duration::from_secs(30);
/// The delay of the answer to a wrong key, and how many of them may wait at one time.
const WRONG: Duration = Duration::from_millis(500);
const WAITING: usize = 16;

/// The state that all requests share.
pub(crate) struct House<D> {
    pub key: Key,
    pub frame: Frame,
    pub desk: Arc<D>,
    bodies: Semaphore,
    wrong: Semaphore,
}

/// What every page shows about the book.
pub(crate) trait Desk: Send + Sync + 'static {
    fn title(&self) -> String;
    /// The mark of the book that is open now.
    fn mark(&self) -> Mark;
    /// The message of the form with this number, once it was done.
    fn said(&self, number: &str) -> Option<String>;
}

impl<D: Desk> House<D> {
    pub fn new(key: Key, frame: Frame, desk: D) -> Self {
        let (bodies, wrong) = (Semaphore::new(BODIES), Semaphore::new(WAITING));
        Self { key, frame, desk: Arc::new(desk), bodies, wrong }
    }

    /// The router: the pages at their addresses, behind access control.
    pub fn app(self, routes: &[Route<D>]) -> Router {
        let house = Arc::new(self);
        let mut router = Router::new();
        for &Route { path, show, send } in routes {
            let at = Arc::clone(&house);
            let shown = move |request: Request| Arc::clone(&at).shown(request, show);
            let mut method = get(shown);
            if let Some(send) = send {
                let at = Arc::clone(&house);
                method =
                    method.merge(post(move |request: Request| Arc::clone(&at).sent(request, send)));
            }
            router = router.route(path, method);
        }
        for asset in assets::ALL {
            router = router.route(asset.path, get(move || async move { asset.response() }));
        }
        let lost = Arc::clone(&house);
        let at_door = move |request: Request, next: axum::middleware::Next| {
            Arc::clone(&house).at_door(request, next)
        };
        router
            .fallback(move || lost.page(StatusCode::NOT_FOUND, bare::no_page()))
            .layer(DefaultBodyLimit::disable())
            .layer(axum::middleware::from_fn(at_door))
    }

    /// Checks access, and adds the security headers to the answer.
    async fn at_door(self: Arc<Self>, request: Request, next: axum::middleware::Next) -> Response {
        let Some(Local(local)) = request.extensions().get::<Local>().copied() else {
            return StatusCode::INTERNAL_SERVER_ERROR.into_response();
        };
        let judged = enter(&self.key, local, request.method(), request.uri(), request.headers());
        let mut response = match judged {
            Ok(Entry::ByCookie) => next.run(request).await,
            Ok(Entry::ByAddress) => self.welcome(local),
            Err(barred) => self.barred(barred).await,
        };
        assets::guard(response.headers_mut());
        response
    }

    /// Sets the cookie. The page then goes on by itself instead of by a redirect: a browser that
    /// came from another site would not send the cookie with a redirect.
    fn welcome(&self, local: std::net::SocketAddr) -> Response {
        let (name, key) = (cookie_name(local), self.key.text());
        let cookie = format!("{name}={key}; HttpOnly; SameSite=Strict; Path=/");
        let mut response = alone(StatusCode::OK, bare::welcome());
        if let Ok(cookie) = HeaderValue::from_str(&cookie) {
            response.headers_mut().insert(header::SET_COOKIE, cookie);
        }
        let none = HeaderValue::from_static("no-referrer");
        response.headers_mut().insert(header::REFERRER_POLICY, none);
        response
    }

    async fn barred(&self, barred: Barred) -> Response {
        if barred == (Barred::Key { wrong: true }) {
            let Ok(_waiting) = self.wrong.try_acquire() else {
                return alone(StatusCode::TOO_MANY_REQUESTS, bare::barred(barred));
            };
            sleep(WRONG).await;
        }
        alone(StatusCode::FORBIDDEN, bare::barred(barred))
    }

    async fn shown(self: Arc<Self>, request: Request, show: Show<D>) -> Response {
        let path = request.uri().path().to_owned();
        let form = Form::of_query(request.uri().query().unwrap_or_default().as_bytes());
        self.answered(path, form, show).await
    }

    async fn sent(self: Arc<Self>, request: Request, send: Show<D>) -> Response {
        let path = request.uri().path().to_owned();
        let length = request.body().size_hint().upper();
        // Held until the form is handled.
        let house = Arc::clone(&self);
        let _place = match length.is_some_and(|length| length <= SMALL) {
            true => None,
            false => house.bodies.acquire().await.ok(),
        };
        let form = match form_of(request).await {
            Ok(form) => form,
            Err(status) => return self.page(status, bare::body(status)).await,
        };
        if !form.get(TOKEN).is_some_and(|token| self.key.has_token(token)) {
            return alone(StatusCode::FORBIDDEN, bare::barred(Barred::Token));
        }
        self.answered(path, form, send).await
    }

    /// Runs a job on a thread that may block.
    async fn answered(self: Arc<Self>, path: String, form: Form, show: Show<D>) -> Response {
        waited_for(move || {
            // A phone keeps forms, and may send one when another book is open at this address.
            if form.get(BOOK).is_some_and(|sent| !self.desk.mark().is(sent)) {
                return self.framed(StatusCode::CONFLICT, &bare::another_book());
            }
            let answer = show(&self.desk, &form);
            self.response(&path, &form, answer)
        })
        .await
    }

    fn response(&self, path: &str, form: &Form, answer: Result<Answer, Turned>) -> Response {
        match answer {
            Ok(Answer::Page(content)) => {
                let status = match content.refused {
                    true => StatusCode::UNPROCESSABLE_ENTITY,
                    false => StatusCode::OK,
                };
                let said = content.said.clone();
                let said = said.or_else(|| self.desk.said(form.get("said")?));
                html(status, self.page_of(path, said.as_deref(), &content))
            }
            Ok(Answer::Document(document)) => alone(StatusCode::OK, document),
            Ok(Answer::Attached(file)) => attached(file),
            Ok(Answer::Elsewhere(place)) => match HeaderValue::from_str(&place) {
                Ok(place) => (StatusCode::SEE_OTHER, [(header::LOCATION, place)]).into_response(),
                Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
            },
            Err(turned) => self.framed(status_of(&turned), &bare::turned(&turned)),
        }
    }

    fn framed(&self, status: StatusCode, content: &Content) -> Response {
        html(status, self.page_of("", None, content))
    }

    fn page_of(&self, path: &str, said: Option<&str>, content: &Content) -> String {
        self.frame.page(&self.desk.title(), &self.desk.mark(), path, said, content)
    }

    /// A page that belongs to no job.
    async fn page(self: Arc<Self>, status: StatusCode, content: Content) -> Response {
        waited_for(move || self.framed(status, &content)).await
    }
}

/// Runs `make` on a thread that may block. If it panics, only this request fails.
async fn waited_for(make: impl FnOnce() -> Response + Send + 'static) -> Response {
    let made = tokio::task::spawn_blocking(make).await;
    made.unwrap_or_else(|_| alone(StatusCode::INTERNAL_SERVER_ERROR, bare::failed()))
}

/// Reads a form within the limits of size and time.
async fn form_of(request: Request) -> Result<Form, StatusCode> {
    let (parts, body) = request.into_parts();
    if body.size_hint().lower() > LARGEST as u64 {
        return Err(StatusCode::PAYLOAD_TOO_LARGE);
    }
    let kind = text(&parts.headers, header::CONTENT_TYPE).to_lowercase();
    let kind = kind.split(';').next().unwrap_or_default();
    let read = timeout(SENDING, to_bytes(body, LARGEST)).await;
    let bytes = read.map_err(|_| StatusCode::REQUEST_TIMEOUT)?;
    let bytes = bytes.map_err(|_| StatusCode::PAYLOAD_TOO_LARGE)?;
    match kind.trim() {
        "application/x-www-form-urlencoded" => Ok(Form::of_query(&bytes)),
        "multipart/form-data" => parted(Request::from_parts(parts, Body::from(bytes))).await,
        _ => Err(StatusCode::UNSUPPORTED_MEDIA_TYPE),
    }
}

fn text(headers: &HeaderMap, name: header::HeaderName) -> &str {
    headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
}

/// Reads a form with files.
async fn parted(request: Request) -> Result<Form, StatusCode> {
    let broken = |_| StatusCode::BAD_REQUEST;
    let parts = Multipart::from_request(request, &()).await;
    let mut parts = parts.map_err(|_| StatusCode::BAD_REQUEST)?;
    let mut form = Form::default();
    while let Some(part) = parts.next_field().await.map_err(broken)? {
        let field = part.name().unwrap_or_default().to_owned();
        let name = part.file_name().map(str::to_owned);
        let bytes: Bytes = part.bytes().await.map_err(broken)?;
        match name {
            Some(name) => form.push_file(Upload { field, name, bytes: bytes.to_vec() }),
            None => form.push(&field, String::from_utf8_lossy(&bytes).into_owned()),
        }
    }
    Ok(form)
}

fn status_of(turned: &Turned) -> StatusCode {
    match turned {
        Turned::Working(_) => StatusCode::OK,
        Turned::Faults(_) => StatusCode::UNPROCESSABLE_ENTITY,
        Turned::Missing(_) => StatusCode::NOT_FOUND,
        // The form is not to blame: a phone keeps it until the book can be read again.
        Turned::Refused(CliError::Book(BookError::Faults { .. } | BookError::Damaged { .. })) => {
            StatusCode::SERVICE_UNAVAILABLE
        }
        Turned::Refused(error) => match error.status() {
            ExitStatus::InUse => StatusCode::SERVICE_UNAVAILABLE,
            ExitStatus::Usage | ExitStatus::Data | ExitStatus::NotEnough => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        },
    }
}

fn html(status: StatusCode, page: String) -> Response {
    let kind =
        [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    (status, kind, page).into_response()
}

/// A file to download under its name (RFC 6266).
fn attached(Attached { name, kind, bytes }: Attached) -> Response {
    let kept = format!("attachment; filename=\"{name}\"");
    let head = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, kept),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ];
    (head, bytes).into_response()
}

/// A standalone page: it loads no style sheet, because its style is inline.
fn alone(status: StatusCode, page: String) -> Response {
    let policy = HeaderValue::from_str(&assets::document_policy(&page));
    let mut response = html(status, page);
    if let Ok(policy) = policy {
        response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;
    use hyper::service::Service;
    use hyper_util::service::TowerToHyperService;

    struct Nothing;

    impl Desk for Nothing {
        fn title(&self) -> String {
            "a book".to_owned()
        }

        fn mark(&self) -> Mark {
            Mark::default()
        }

        fn said(&self, _: &str) -> Option<String> {
            None
        }
    }

    const ROUTES: [Route<Nothing>; 2] = [
        Route {
            path: "/whole",
            show: |_, _| Ok(Content::new("whole", String::new()).into()),
            send: None,
        },
        Route { path: "/broken", show: |_, _| panic!("a fault of ours"), send: None },
    ];

    #[test]
    fn a_fault_of_ours_ends_one_request_and_no_other() {
        let runtime = tokio::runtime::Builder::new_multi_thread().build().unwrap();
        let (key, local) = (Key::random().unwrap(), "127.0.0.1:7318".parse().unwrap());
        let frame = Frame { token: key.token(), ways: &[], read_only: false };
        let app = TowerToHyperService::new(House::new(key.clone(), frame, Nothing).app(&ROUTES));
        let status = |path: &str| {
            let cookie = format!("{}={}", cookie_name(local), key.text());
            let request = Request::get(path).header("host", local.to_string());
            let mut request = request.header("cookie", cookie).body(Body::empty()).unwrap();
            request.extensions_mut().insert(Local(local));
            runtime.block_on(app.call(request)).unwrap().status().as_u16()
        };
        assert_eq!(["/whole", "/broken", "/whole", "/lost"].map(status), [200, 500, 200, 404]);
    }
}
