//! Requests that no browser makes get an answer, and have no other effect.

use super::door::House;
use crate::support::served::{number, query};

/// Common attempts to leave a folder.
const TRICKS: [&str; 20] = [
    "/../book.toml",
    "/../../../../etc/passwd",
    "/..%2f..%2fetc%2fpasswd",
    "/%2e%2e/book.toml",
    "/%2e%2e%2f%2e%2e%2fetc/passwd",
    "/..%5c..%5cbook.toml",
    "/..;/papers.csv",
    "/.%00./papers.csv",
    "/papers.csv",
    "/book.toml",
    "/book.journal",
    "/readings.csv%00.css",
    "/bench.css/../papers.csv",
    "/bench.css/",
    "/bench.css%2f..%2fpapers.csv",
    "//papers.csv",
    "//evil.example/",
    "/file:///etc/passwd",
    "/measure/../papers.csv",
    "/%c0%ae%c0%ae/papers.csv",
];

#[test]
fn no_path_leads_to_a_file() {
    let house = House::new();
    for trick in TRICKS {
        let reply = house.served.get(trick).is(404).says("There is no page at this address.");
        for inside in ["bond 80", "root:", "linen 25", "caliper_mm"] {
            assert!(!reply.body.contains(inside), "{inside} at {trick}");
        }
        // The answer does not redirect the client.
        assert_eq!(reply.header("location"), None, "{trick}");
    }
    // A name in a form does not lead to a file either.
    for name in ["../../etc/passwd", "/etc/passwd", "papers.csv", "T1/../../papers.csv"] {
        let fields = [("trial", name), ("state", "sewn"), ("spine-1", "9"), ("places", name)];
        house.served.get(&format!("/measure?{}", query(&fields))).is(404);
        house.served.answer(&house.served.sends("/measure", &number(1), &fields)).is(404);
    }
    house.is_as_before();
}

#[test]
fn a_malformed_request_is_refused() {
    let house = House::new();
    let own = format!("Host: {}\r\nCookie: {}\r\n", house.served.place, house.served.cookie());
    for (status, text) in [
        (400, format!("GET / HTTP/1.1\r\n{own}Name without an end\r\n\r\n")),
        (400, format!("GET / HTTP/1.1\r\n{own}Na me: x\r\n\r\n")),
        (400, format!("GET / HTTP/1.1\r\n{own}Name: a\0b\r\n\r\n")),
        (400, format!("GET /\0 HTTP/1.1\r\n{own}\r\n")),
        (400, format!("GET / HTTP/9.9\r\n{own}\r\n")),
        (400, format!("GET / HTTP/1.1 more\r\n{own}\r\n")),
        (400, format!("{own}\r\n")),
        (400, "\u{16}\u{3}\u{1}\u{2}".repeat(20) + "\r\n\r\n"),
        (
            400,
            format!(
                "POST /paper HTTP/1.1\r\n{own}Content-Length: 3\r\nContent-Length: 4\r\n\r\nabcd"
            ),
        ),
        (400, format!("POST /paper HTTP/1.1\r\n{own}Content-Length: -1\r\n\r\n")),
        (400, format!("POST /paper HTTP/1.1\r\n{own}Content-Length: 99999999999999999999\r\n\r\n")),
        (400, format!("POST /paper HTTP/1.1\r\n{own}Transfer-Encoding: gzip\r\n\r\n")),
        (400, "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".to_owned()),
    ] {
        let reply = house.served.raw(text.as_bytes());
        assert!(reply.status == status || reply.status == 0, "{} to {text:?}", reply.status);
        house.shows_nothing(&reply);
    }
    house.served.get("/").is(200);
}

#[test]
fn every_method_has_its_answer() {
    let house = House::new();
    let origin = format!("http://{}", house.served.place);
    let ask = |line: &str| house.served.asks(line).with("Origin", &origin);
    let whole = house.served.get("/measure").is(200).body;
    assert!(house.served.answer(&ask("HEAD /measure")).is(200).body.is_empty());
    assert!(whole.contains("Readings of T1"));
    for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"] {
        house.bars(&ask(&format!("{method} /measure")), 405);
        house.bars(&house.served.asks(&format!("{method} /measure")), 403);
    }
    // A page without a form.
    house.bars(&ask("POST /measured").with("Content-Type", "text/plain").body("x"), 405);
    // Neither opening its address nor a header carries out a form.
    let fields = [
        ("paper", "new"),
        ("caliper", "0.1"),
        ("token", &house.served.token()),
        ("number", &number(1)),
    ];
    let address = format!("/paper?{}", query(&fields));
    house.served.get(&address).is(200);
    house
        .served
        .answer(&ask(&format!("GET {address}")).with("X-HTTP-Method-Override", "POST"))
        .is(200);
    house.served.answer(&ask(&format!("HEAD {address}"))).is(200);
    house.is_as_before();
}

/// Addresses of new and old browsers, and as people type them.
#[test]
fn an_address_may_contain_anything() {
    let house = House::new();
    let long = format!("/?said={}", "x".repeat(8000));
    for address in [
        "/?%",
        "/?%zz=%zz",
        "/?=&=&&&",
        "/?said=%00",
        "/?said=%ff%fe%fd",
        "/?said=%0d%0aSet-Cookie:%20a=b",
        "/?said=ffffffffffffffffffffffffffffffff",
        "/?a[]=1&a[b]=2",
        "/?\u{1f9f5}",
        "/#x",
        &long,
    ] {
        let reply = house.served.get(address).is(200);
        assert_eq!(reply.header("set-cookie"), None, "{address}");
    }
    for (status, address) in [
        (404, "/measure?trial=%ff"),
        (404, "/measure?trial=%00"),
        (422, "/measure?trial=T1&state=%00"),
        (422, "/measure?trial=T1&state=sewn&places=,,,"),
        (200, "/measure?trial=T1&state=sewn&spine-1=%ff&spine-2=1e999&fore-edge-9999=1"),
        (200, "/measured?trial=T1&state=sewn&count=-1&seen=99999999999999999999999&said=%ff"),
    ] {
        house.served.get(address).is(status);
    }
    house.is_as_before();
}

#[test]
fn a_number_that_no_page_has_made_writes_nothing() {
    let house = House::new();
    for strange in ["", "x", "0", "../papers", &"f".repeat(33), &"g".repeat(32), "\0"] {
        let fields = [("paper", "new"), ("caliper", "0.1")];
        let status = house.served.answer(&house.served.sends("/paper", strange, &fields)).status;
        assert!((400..500).contains(&status), "{status} to {strange:?}");
    }
    house.is_as_before();
}

#[test]
fn a_form_is_written_once_however_often_it_arrives_and_whatever_comes_beside_it() {
    let house = House::new();
    let same = house.paper();
    let others: Vec<_> = (10..18)
        .map(|at| {
            let name = format!("beside {at}");
            house.served.sends("/paper", &number(at), &[("paper", &name), ("caliper", "0.1")])
        })
        .collect();
    std::thread::scope(|scope| {
        for ask in std::iter::repeat_n(&same, 8).chain(&others) {
            let served = &house.served;
            scope.spawn(move || drop(served.answer(ask).is(303)));
        }
    });
    house.served.answer(&same).is(303);
    let papers = house.folder.read("papers.csv");
    assert_eq!(papers.matches("new").count(), 1, "{papers}");
    assert_eq!(papers.matches("beside").count(), others.len(), "{papers}");
    house.folder.run(&["audit"]).ends(0);
}
