//! A client without access sees nothing and changes nothing.

use crate::support::folder::{Files, Folder};
use crate::support::served::{Ask, Reply, Served, number};
use std::thread;
use std::time::{Duration, Instant};

/// Contents of the book that no page for others may show.
const INSIDE: [&str; 4] = ["bond 80", "linen 25", "T1", "form-token"];

/// A served book, and its files as they were.
pub struct House {
    pub folder: Folder,
    pub served: Served,
    before: Files,
    /// Its memory after one page, in KiB.
    pub resident: u64,
}

impl House {
    pub fn new() -> Self {
        let folder = Folder::with_trial();
        let served = Served::open(&folder);
        // The first page makes no file; what is asked later cannot either.
        served.get("/").is(200);
        let before = folder.holds();
        let resident = served.figure("VmRSS");
        Self { folder, served, before, resident }
    }

    /// Asserts this status, and that the answer neither shows nor changes anything of the book.
    #[track_caller]
    pub fn bars(&self, ask: &Ask, status: u16) -> Reply {
        let reply = self.served.answer(ask).is(status);
        self.shows_nothing(&reply);
        reply
    }

    /// As [`House::bars`], for an answer inside the frame of the book's pages.
    #[track_caller]
    pub fn bars_page(&self, ask: &Ask, status: u16) -> Reply {
        let reply = self.served.answer(ask).is(status);
        self.is_as_before();
        reply
    }

    #[track_caller]
    pub fn shows_nothing(&self, reply: &Reply) {
        for inside in INSIDE.into_iter().chain([self.served.key.as_str()]) {
            assert!(!reply.body.contains(inside), "{inside:?} in {}", reply.body);
        }
        self.is_as_before();
    }

    #[track_caller]
    pub fn is_as_before(&self) {
        assert!(self.folder.holds() == self.before, "the book has changed");
    }

    /// A form that would change the book.
    pub fn paper(&self) -> Ask {
        self.served.sends("/paper", &number(1), &[("paper", "new"), ("caliper", "0.1")])
    }
}

/// Pages, files that pages load, and an address that does not exist.
const PLACES: [&str; 7] =
    ["/", "/measure", "/paper", "/measured?trial=T1", "/bench.css", "/bench.js", "/nothing"];

#[test]
fn without_a_key_there_is_nothing_to_see() {
    let house = House::new();
    for place in PLACES {
        for method in ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "TRACE", "BREW"] {
            let ask = house.served.asks(&format!("{method} {place}")).without("Cookie");
            house.bars(&ask, 403);
        }
    }
    house.bars(&house.paper().without("Cookie"), 403);
}

#[test]
fn a_wrong_key_waits_and_gets_nothing() {
    let house = House::new();
    let key = &house.served.key;
    let (short, long, other) = (&key[1..], format!("{key}0"), number(7));
    let asks: Vec<Ask> = ["", short, &long, &other, "%00", "%ff%fe", "../../key"]
        .into_iter()
        .map(|wrong| house.served.asks(&format!("GET /?key={wrong}")))
        .chain([house.served.asks("GET /").with("Cookie", &format!("swellbook-1={key}"))])
        .collect();
    let cookie = house.served.cookie().replace(key.as_str(), &other);
    let asks: Vec<Ask> =
        asks.into_iter().chain([house.served.asks("GET /").with("Cookie", &cookie)]).collect();
    thread::scope(|scope| {
        for (at, ask) in asks.iter().enumerate() {
            let house = &house;
            scope.spawn(move || {
                let started = Instant::now();
                house.bars(ask, 403);
                // The cookie of another port does not count as a key.
                let is_slow = started.elapsed() >= Duration::from_millis(450);
                assert_eq!(is_slow, at != 7, "{at}");
            });
        }
    });
}

#[test]
fn a_right_key_among_many_wrong_ones_is_not_slowed() {
    let house = House::new();
    let counts = thread::scope(|scope| {
        let wrong = |_| {
            let ask = house.served.asks("GET /?key=00112233445566778899aabbccddeeff");
            let house = &house;
            scope.spawn(move || {
                let reply = house.served.answer(&ask);
                house.shows_nothing(&reply);
                reply.status
            })
        };
        let many: Vec<_> = (0..100).map(wrong).collect();
        let started = Instant::now();
        house.served.get("/measure").is(200);
        assert!(started.elapsed() < Duration::from_millis(1500), "{:?}", started.elapsed());
        let all: Vec<u16> = many.into_iter().map(|one| one.join().expect("an answer")).collect();
        [403, 429].map(|status| all.iter().filter(|one| **one == status).count())
    });
    assert!(counts[0] >= 16 && counts[1] > 0 && counts[0] + counts[1] == 100, "{counts:?}");
}

#[test]
fn a_key_is_taken_from_the_address_and_the_cookie_and_from_nowhere_else() {
    let house = House::new();
    let key = house.served.key.clone();
    let ask = |line: &str| house.served.asks(line).without("Cookie");
    house.bars(
        &ask("GET /").with("Referer", &format!("http://{}/?key={key}", house.served.place)),
        403,
    );
    house.bars(&ask("GET /").with("Authorization", &format!("Bearer {key}")), 403);
    house.bars(&ask(&format!("GET /{key}")), 403);
    house.bars(&ask(&format!("GET /?KEY={key}")), 403);
    let body = format!("key={key}");
    house.bars(
        &ask("POST /").with("Content-Type", "application/x-www-form-urlencoded").body(body),
        403,
    );
    // If there are two keys, both must be right.
    house.bars(&ask(&format!("GET /?key={}&key={key}", number(7))), 403);
    house.bars(&ask(&format!("GET /?key={key}&key={}", number(7))), 403);
}

#[test]
fn the_key_is_given_to_nobody() {
    let house = House::new();
    let place = house.served.place;
    let welcome = house.served.asks(&format!("GET /measure?key={}", house.served.key));
    let reply = house.bars(&welcome.without("Cookie"), 200);
    let cookie = reply.header("set-cookie").expect("a cookie");
    assert_eq!(cookie, format!("{}; HttpOnly; SameSite=Strict; Path=/", house.served.cookie()));
    assert_eq!(reply.header("referrer-policy"), Some("no-referrer"));
    assert_eq!(reply.header("cache-control"), Some("no-store"));
    assert!(!reply.body.contains(&place.to_string()));
    for page in PLACES {
        let reply = house.served.get(page);
        assert!(!reply.body.contains(&house.served.key), "{page}");
        assert_eq!(reply.header("set-cookie"), None, "{page}");
    }
}

#[test]
fn a_host_name_made_to_lead_here_gets_nothing() {
    let house = House::new();
    let port = house.served.place.port();
    for host in [
        format!("evil.example:{port}"),
        format!("localhost.evil.example:{port}"),
        format!("127.0.0.1.evil.example:{port}"),
        format!("127.0.0.1:{port}.evil.example"),
        format!("evil.example@127.0.0.1:{port}"),
        format!("127.0.0.1:{port}@evil.example"),
        format!("127.0.0.1:{port}, evil.example"),
        "127.0.0.1".to_owned(),
        "localhost".to_owned(),
        format!("127.0.0.1:{}", port ^ 1),
        format!("127.0.0.2:{port}"),
        format!("0.0.0.0:{port}"),
        format!("127.1:{port}"),
        format!("2130706433:{port}"),
        format!("0x7f000001:{port}"),
        format!("[::1]:{port}"),
        format!("localhost.:{port}"),
        format!("127.0.0.1:0{port}0"),
        String::new(),
    ] {
        let asks =
            [house.served.asks("GET /").with("Host", &host), house.paper().with("Host", &host)];
        asks.iter().for_each(|ask| drop(house.bars(ask, 403)));
        // Nor does a form that names it as its origin.
        let origin = format!("http://{host}");
        house.bars(&house.paper().with("Host", &host).with("Origin", &origin), 403);
    }
    let own = house.served.place.to_string();
    house.bars(&house.served.asks("GET /").without("Host"), 403);
    house.bars(&house.served.asks("GET / HTTP/1.0").without("Host"), 403);
    house.bars(&house.served.asks("GET /").and("Host", &own), 403);
    house.bars(&house.served.asks("GET /").and("Host", "evil.example"), 403);
    house.bars(
        &house.served.asks("GET /").with("Host", "evil.example").and("X-Forwarded-Host", &own),
        403,
    );
    // The other names of this machine are accepted.
    for host in [
        format!("localhost:{port}"),
        format!("LocalHost:{port}"),
        format!("[::ffff:127.0.0.1]:{port}"),
    ] {
        house.served.answer(&house.served.asks("GET /").with("Host", &host)).is(200);
    }
}

#[test]
fn the_host_of_a_whole_address_counts_too() {
    let house = House::new();
    let place = house.served.place;
    let at = |host: &str| house.served.asks(&format!("GET http://{host}/measure HTTP/1.1"));
    house.bars(&at("evil.example"), 403);
    house.bars(&at(&format!("evil.example:{}", place.port())), 403);
    house.bars(&at(&format!("user@{place}")), 403);
    house.served.answer(&at(&place.to_string())).is(200);
    // A request meant for a proxy.
    let status = house.served.answer(&house.served.asks("CONNECT evil.example:80")).status;
    assert!((400..500).contains(&status), "{status}");
    house.is_as_before();
}

#[test]
fn a_form_of_another_site_does_nothing() {
    let house = House::new();
    let place = house.served.place;
    for origin in [
        "null".to_owned(),
        "http://evil.example".to_owned(),
        format!("https://{place}"),
        format!("http://{place}.evil.example"),
        format!("http://localhost:{}", place.port()),
        format!("http://127.0.0.1:{}", place.port() ^ 1),
        format!("http://evil.example@{place}"),
        "http://127.0.0.1".to_owned(),
        String::new(),
    ] {
        house.bars(&house.paper().with("Origin", &origin), 403);
        // A browser sends this type of form without a preflight request.
        house.bars(&house.paper().with("Origin", &origin).with("Content-Type", "text/plain"), 403);
    }
    house.bars(&house.paper().without("Origin"), 403);
    let referer = format!("http://{place}/paper");
    house.bars(&house.paper().without("Origin").with("Referer", &referer), 403);
    house.bars(&house.paper().and("Origin", "http://evil.example"), 403);
    // The preflight request, which a browser sends before a request that a form cannot make.
    let asked = house.served.asks("OPTIONS /paper").with("Origin", "http://evil.example");
    let reply = house.bars(&asked.and("Access-Control-Request-Method", "POST"), 403);
    assert_eq!(reply.header("access-control-allow-origin"), None);
}

#[test]
fn a_form_needs_the_cookie_and_the_token() {
    let house = House::new();
    house.bars(&house.paper().without("Cookie"), 403);
    let wrong = [("token", number(7)), ("token", String::new()), ("tok", house.served.token())];
    for (name, token) in wrong {
        let body = crate::support::served::query(&[
            (name, &token),
            ("number", &number(1)),
            ("paper", "new"),
            ("caliper", "0.1"),
        ]);
        house.bars(&house.paper().body(body), 403);
    }
    // A token in the address does not count: it must be in the form.
    let token = crate::support::served::query(&[("token", &house.served.token())]);
    let mut ask = house.served.asks(&format!("POST /paper?{token}"));
    ask = ask.with("Origin", &format!("http://{}", house.served.place));
    let ask =
        ask.with("Content-Type", "application/x-www-form-urlencoded").body("paper=new&caliper=0.1");
    house.bars(&ask, 403);
    // With both, the form is accepted.
    house.served.answer(&house.paper()).is(303);
    assert!(house.folder.read("papers.csv").contains("new"));
}

#[test]
fn every_answer_says_what_a_browser_may_do_with_it() {
    let house = House::new();
    let served = &house.served;
    let replies = [
        (200, served.get("/")),
        (200, served.get("/bench.css")),
        (200, served.answer(&served.asks("HEAD /measure"))),
        (200, served.get(&format!("/?key={}", served.key))),
        (303, served.answer(&house.paper())),
        (403, served.answer(&served.asks("GET /").without("Cookie"))),
        (404, served.get("/nothing")),
        (
            405,
            served
                .answer(&served.asks("PUT /").with("Origin", &format!("http://{}", served.place))),
        ),
        (415, served.answer(&house.paper().with("Content-Type", "application/json"))),
        (422, served.answer(&served.sends("/paper", &number(2), &[]))),
    ];
    for (status, reply) in replies {
        let reply = reply.is(status);
        let policy = reply.header("content-security-policy").expect("a policy");
        for part in
            ["default-src 'none'", "frame-ancestors 'none'", "form-action '", "base-uri 'none'"]
        {
            assert!(policy.contains(part), "{part} at {status}: {policy}");
        }
        for wide in ["inline", "*", "http:", "data:"] {
            assert!(!policy.contains(wide), "{wide} at {status}: {policy}");
        }
        assert_eq!(reply.header("x-content-type-options"), Some("nosniff"), "{status}");
        let referrer = reply.header("referrer-policy");
        assert!(matches!(referrer, Some("same-origin" | "no-referrer")), "{status}: {referrer:?}");
        assert_eq!(reply.header("cross-origin-resource-policy"), Some("same-origin"), "{status}");
        assert_eq!(reply.header("access-control-allow-origin"), None, "{status}");
        // Otherwise a page of another site could learn from response times what a cache holds.
        assert!(reply.header("cache-control").is_none_or(|it| !it.contains("public")), "{status}");
    }
}
