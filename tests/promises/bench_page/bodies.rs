//! Request bodies that are too long, too slow or of another type than they say.

use super::door::House;
use crate::support::served::{Ask, Reply, number, query};
use std::io::Write;
use std::time::{Duration, Instant};

/// The largest body, in bytes.
const LARGEST: usize = 8 * 1024 * 1024;
/// The number of concurrent senders. `ROOM` is how much memory may grow, in KiB: two of the largest
/// bodies at eight times their length (from the bytes to the page that shows them again), and one
/// such page on its way to each sender.
const SENDERS: u64 = 12;
const ROOM: u64 = (2 * 8 + SENDERS) * 8 * 1024;

const CHUNKED: (&str, &str) = ("Transfer-Encoding", "chunked");

fn paper_form(house: &House) -> Vec<u8> {
    let token = house.served.token();
    let fields =
        [("token", token.as_str()), ("number", &number(1)), ("paper", "new"), ("caliper", "0.1")];
    query(&fields).into_bytes()
}

#[test]
fn a_body_of_a_gigabyte_is_refused_before_it_is_read() {
    let house = House::new();
    let started = Instant::now();
    for length in ["8388609", "1073741824", "9223372036854775807"] {
        let ask = house.paper().with("Content-Length", length).body("paper=new&");
        let reply = house.bars_page(&ask, 413);
        reply.says("This is more than 8 MiB");
    }
    // A body that does not say how long it is.
    let mut stream = house.served.connect();
    let ask = house.paper().and(CHUNKED.0, CHUNKED.1).body("");
    stream.write_all(&ask.bytes()).expect("a head");
    let block = [format!("{:x}\r\n", 1 << 20).as_bytes(), &vec![b'a'; 1 << 20], b"\r\n"].concat();
    let sent = (0..1024).take_while(|_| stream.write_all(&block).is_ok()).count();
    assert!(sent < 64, "{sent} MiB were taken");
    house.is_as_before();
    assert!(started.elapsed() < Duration::from_secs(5), "{:?}", started.elapsed());
    house.served.get("/").is(200);
}

#[test]
fn without_a_key_no_body_is_read() {
    let house = House::new();
    let resident = house.served.figure("VmRSS");
    for _ in 0..20 {
        let mut stream = house.served.connect();
        let ask = house.paper().without("Cookie").with("Content-Length", "1073741824").body("");
        stream.write_all(&ask.bytes()).expect("a head");
        let block = vec![b'a'; 1 << 20];
        let sent = (0..1024).take_while(|_| stream.write_all(&block).is_ok()).count();
        assert!(sent < 16, "{sent} MiB were taken");
    }
    let grown = house.served.figure("VmRSS").saturating_sub(resident);
    assert!(grown < 4 * 1024, "{grown} KiB");
}

#[test]
fn large_forms_at_once_leave_memory_as_it_was() {
    let house = House::new();
    let mut body = paper_form(&house);
    body.extend(b"&note=");
    body.resize(LARGEST, b'a');
    let ask = house.paper().body(body);
    for _ in 0..2 {
        std::thread::scope(|scope| {
            for _ in 0..SENDERS {
                scope.spawn(|| {
                    // A note has 500 letters at most.
                    house.served.answer(&ask).is(422);
                });
            }
        });
    }
    house.is_as_before();
    let peak = house.served.figure("VmHWM");
    assert!(peak < house.resident + ROOM, "{peak} KiB after {} KiB", house.resident);
}

#[test]
fn slow_senders_do_not_stop_a_quick_one() {
    let house = House::new();
    let slow = |length: usize| {
        let ask = house.paper().with("Content-Length", &length.to_string()).body("paper=");
        let mut stream = house.served.connect();
        stream.write_all(&ask.bytes()).expect("half a form");
        stream
    };
    let held: Vec<_> = (0..24).map(|at| slow(if at % 2 == 0 { 4_000_000 } else { 100 })).collect();
    std::thread::sleep(Duration::from_millis(200));
    let started = Instant::now();
    house.served.answer(&house.paper()).is(303);
    house.served.get("/measure").is(200);
    assert!(started.elapsed() < Duration::from_secs(2), "{:?}", started.elapsed());
    drop(held);
    assert_eq!(house.folder.read("papers.csv").matches("new").count(), 1);
}

#[test]
fn a_form_that_breaks_off_is_not_done() {
    let house = House::new();
    let whole = paper_form(&house);
    let length = (whole.len() + 1).to_string();
    let ask = house.paper().with("Content-Length", &length).body(whole.clone());
    let mut stream = house.served.connect();
    stream.write_all(&ask.bytes()).expect("all but a letter");
    stream.shutdown(std::net::Shutdown::Write).expect("its end");
    let reply = Reply::read(&mut stream);
    assert!(matches!(reply.status, 0 | 400 | 413), "{}", reply.status);
    let chunked = house.paper().and(CHUNKED.0, CHUNKED.1);
    let half = [format!("{:x}\r\n", whole.len()).as_bytes(), &whole, b"\r\n"].concat();
    let mut stream = house.served.connect();
    stream.write_all(&chunked.clone().body(half.clone()).bytes()).expect("no last chunk");
    stream.shutdown(std::net::Shutdown::Write).expect("its end");
    assert!(matches!(Reply::read(&mut stream).status, 0 | 400 | 413));
    for broken in ["zz\r\nabc\r\n0\r\n\r\n", "-1\r\n\r\n", "ffffffffffffffffff\r\nabc"] {
        assert!(matches!(house.served.answer(&chunked.clone().body(broken)).status, 0 | 400 | 413));
    }
    house.is_as_before();
    // Sent whole, it is an ordinary form.
    let end = [&half[..], b"0\r\n\r\n"].concat();
    house.served.answer(&chunked.body(end)).is(303);
}

fn is_refused(house: &House, ask: &Ask, statuses: &[u16]) {
    let reply = house.served.answer(ask);
    assert!(statuses.contains(&reply.status), "{}: {}", reply.status, reply.body);
    house.is_as_before();
}

#[test]
fn a_body_of_another_type_is_not_understood() {
    let house = House::new();
    for kind in [
        "",
        "text/plain",
        "application/json",
        "application/xml",
        "multipart/mixed; boundary=x",
        "application/x-www-form-urlencoded-not",
        "\u{ff}",
        "image/svg+xml",
    ] {
        is_refused(&house, &house.paper().with("Content-Type", kind), &[415]);
    }
    is_refused(&house, &house.paper().without("Content-Type"), &[415]);
    let parts = |kind: &str, body: &str| house.paper().with("Content-Type", kind).body(body);
    for (kind, body) in [
        ("multipart/form-data", "--x\r\n\r\n--x--"),
        ("multipart/form-data; boundary=", "--\r\n\r\n----"),
        ("multipart/form-data; boundary=x", "nothing of the kind"),
        (
            "multipart/form-data; boundary=x",
            "--x\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\nno end",
        ),
        ("multipart/form-data; boundary=x", "--x\r\n\r\nno name\r\n--x--\r\n"),
        (
            "multipart/form-data; boundary=x",
            "--x\r\nContent-Disposition: form-data; name=\"paper\"; filename=\"../../book.toml\"\r\n\r\nx\r\n--x--\r\n",
        ),
    ] {
        is_refused(&house, &parts(kind, body), &[400, 403]);
    }
    // Capitals and the parameters after the type do not matter.
    let kind = "Application/X-WWW-Form-URLencoded; charset=UTF-8";
    house.served.answer(&house.paper().with("Content-Type", kind)).is(303);
}

#[test]
fn a_form_may_contain_anything() {
    let house = House::new();
    let own = String::from_utf8(paper_form(&house)).expect("text");
    let strange = [
        own.replace("paper=new", "paper=%"),
        own.replace("paper=new", "paper=%00"),
        own.replace("paper=new", "paper=%ff%fe"),
        own.replace("paper=new", "paper=a%0d%0ab"),
        own.replace("paper=new", "paper=%3D1%2B1"),
        own.replace("paper=new", "paper=--note"),
        own.replace("caliper=0.1", "caliper=NaN"),
        own.replace("caliper=0.1", "caliper=1e400"),
        own.replace("caliper=0.1", "caliper=-0.1"),
        own.replace("caliper=0.1", "caliper=0.1&caliper=%00"),
        own.clone() + &"&a=b".repeat(200_000) + "&hardness=%00",
    ];
    for (at, strange) in strange.into_iter().enumerate() {
        // Each is a form of its own: some are written.
        let strange = strange.replace(&number(1), &number(100 + at));
        let before = house.folder.holds();
        let reply = house.served.answer(&house.paper().body(strange.clone()));
        let shown: String = strange.chars().take(200).collect();
        assert!(matches!(reply.status, 303 | 422), "{} to {shown}", reply.status);
        if reply.status == 422 {
            assert!(
                reply.body.contains("class=\"error\"") || reply.body.contains("role=\"alert\""),
                "{shown}"
            );
            assert!(house.folder.holds() == before, "{shown}");
        }
    }
}
