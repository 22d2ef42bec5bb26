//! Many connections and requests at once.

use super::door::House;
use crate::support::served::Reply;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// The most connections that one machine may have.
const MOST_OF_ONE: usize = 512;
/// The connections that are tried, four times what is allowed. Ten thousand end the same way and
/// take half a minute.
const CROWD: usize = 2_000;
const AT_A_TIME: usize = 500;
/// How much memory they may add, in KiB.
const ROOM: u64 = 24 * 1024;

/// Whether the program has closed the connection without an answer.
fn is_closed(stream: &mut TcpStream) -> bool {
    stream.set_nonblocking(true).expect("a way to look");
    !matches!(stream.read(&mut [0]), Err(why) if why.kind() == std::io::ErrorKind::WouldBlock)
}

#[test]
fn thousands_of_connections_leave_the_page_as_it_was() {
    let house = House::new();
    // A connection from before the crowd keeps its place and is answered throughout.
    let mut first = house.served.connect();
    let ask = house.served.asks("GET /measure").with("Connection", "keep-alive").bytes();
    let mut held = Vec::new();
    for _ in 0..CROWD / AT_A_TIME {
        first.write_all(&ask).expect("a request");
        Reply::next(&mut first).is(200);
        held.extend((0..AT_A_TIME).map(|_| house.served.connect()));
        // Refused connections need not be held.
        if held.len() > 2 * MOST_OF_ONE {
            held.retain_mut(|stream| !is_closed(stream));
        }
    }
    // The program takes a moment to refuse connections that the system has already accepted.
    let refused = Instant::now();
    while held.len() > MOST_OF_ONE {
        assert!(refused.elapsed() < Duration::from_secs(5), "{} are held", held.len());
        std::thread::sleep(Duration::from_millis(10));
        held.retain_mut(|stream| !is_closed(stream));
    }
    let files = std::fs::read_dir(format!("/proc/{}/fd", house.served.process()));
    let files = files.expect("its files").count();
    assert!(files < MOST_OF_ONE + 32, "{files} files are open");
    drop((first, held));
    let started = Instant::now();
    // The program may take a moment to notice that they are gone.
    while house.served.get("/measure").status != 200 {
        assert!(started.elapsed() < Duration::from_secs(2), "nobody gets in");
        std::thread::sleep(Duration::from_millis(10));
    }
    let resident = house.served.figure("VmRSS");
    assert!(resident < house.resident + ROOM, "{resident} KiB after {}", house.resident);
    house.is_as_before();
}

#[test]
fn a_flood_of_headers_is_refused() {
    let house = House::new();
    let own = format!("Host: {}\r\nCookie: {}\r\n", house.served.place, house.served.cookie());
    let (many, long) = ("a: b\r\n".repeat(5_000), format!("a: {}\r\n", "b".repeat(64 * 1024)));
    let cookie = format!("Cookie: {}={}\r\n", "a".repeat(20), "b".repeat(64 * 1024));
    let path = "/".repeat(64 * 1024);
    for (statuses, text) in [
        ([431, 431], format!("GET / HTTP/1.1\r\n{own}{many}\r\n")),
        ([431, 431], format!("GET / HTTP/1.1\r\n{own}{long}\r\n")),
        ([431, 431], format!("GET / HTTP/1.1\r\n{cookie}{own}\r\n")),
        ([414, 431], format!("GET {path} HTTP/1.1\r\n{own}\r\n")),
        ([431, 400], "a".repeat(64 * 1024)),
    ] {
        let reply = house.served.raw(text.as_bytes());
        let is_said = statuses.contains(&reply.status) || reply.status == 0;
        assert!(is_said, "{} to {}", reply.status, &text[..40]);
        house.shows_nothing(&reply);
    }
    // Cookies of 8 kB, as other programs on this machine may leave them.
    let large = format!("{}={}; {}", "a".repeat(20), "b".repeat(8 * 1024), house.served.cookie());
    house.served.answer(&house.served.asks("GET /").with("Cookie", &large)).is(200);
    // A header that never ends.
    let mut stream = house.served.connect();
    stream.write_all(format!("GET / HTTP/1.1\r\n{own}").as_bytes()).expect("a start");
    let line = "a: b\r\n".repeat(100);
    let sent = (0..100_000).take_while(|_| stream.write_all(line.as_bytes()).is_ok()).count();
    assert!(sent < 50_000, "{sent} lines were taken");
    let grown = house.served.figure("VmRSS").saturating_sub(house.resident);
    assert!(grown < ROOM, "{grown} KiB");
}

#[test]
fn slow_senders_are_not_waited_for_and_stop_nobody() {
    let house = House::new();
    let started = Instant::now();
    let mut slow: Vec<TcpStream> = (0..60).map(|_| house.served.connect()).collect();
    for (at, stream) in slow.iter_mut().enumerate() {
        // A third send nothing, a third send half a line, and a third send one request and stay.
        let (half, whole) =
            ("GET / HT", house.served.asks("GET /").with("Connection", "keep-alive"));
        match at % 3 {
            0 => {}
            1 => stream.write_all(half.as_bytes()).expect("half a line"),
            _ => stream.write_all(&whole.bytes()).expect("a request"),
        }
    }
    let asked = Instant::now();
    house.served.get("/measure").is(200);
    assert!(asked.elapsed() < Duration::from_secs(1), "{:?}", asked.elapsed());
    for stream in &mut slow {
        // Returns when the program closes the connection.
        let reply = Reply::read(stream);
        assert!(matches!(reply.status, 0 | 200 | 408), "{}", reply.status);
    }
    let took = started.elapsed();
    assert!((14..20).contains(&took.as_secs()), "they were closed after {took:?}");
}

#[test]
fn hundreds_of_requests_leave_memory_as_it_was() {
    let house = House::new();
    let ask = house.served.asks("GET /measure?trial=T1&state=sewn&spine-1=9&fore-edge-1=7");
    let asked = |times| (0..times).for_each(|_| drop(house.served.answer(&ask).is(200)));
    asked(50);
    let early = house.served.figure("VmRSS");
    asked(200);
    let grown = house.served.figure("VmRSS").saturating_sub(early);
    assert!(grown < 2 * 1024, "{grown} KiB");
}
