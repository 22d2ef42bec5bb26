//! How the served page ends, and what it says when the book is not as it was.

use super::door::House;
use crate::support::folder::Folder;
use crate::support::served::{Reply, Served, number};
use std::io::Write;
use std::time::Duration;

const SOON: Duration = Duration::from_secs(4);

#[test]
fn a_request_in_hand_is_answered_before_it_ends() {
    for signal in ["TERM", "INT"] {
        let mut house = House::new();
        let bytes = house.paper().bytes();
        let (start, rest) = bytes.split_at(bytes.len() - 5);
        let (mut stream, idle) = (house.served.connect(), house.served.connect());
        stream.write_all(start).expect("half a form");
        std::thread::sleep(Duration::from_millis(200));
        house.served.signal(signal);
        std::thread::sleep(Duration::from_millis(200));
        stream.write_all(rest).expect("the other half");
        Reply::read(&mut stream).is(303);
        assert!(house.served.ends_within(SOON).success(), "{signal}");
        assert_eq!(house.folder.read("papers.csv").matches("new").count(), 1);
        house.folder.run(&["audit"]).ends(0);
        drop(idle);
    }
}

#[test]
fn an_unfinished_request_is_not_waited_for_at_the_end() {
    let mut house = House::new();
    let bytes = house.paper().bytes();
    let mut stream = house.served.connect();
    stream.write_all(&bytes[..bytes.len() - 5]).expect("half a form");
    std::thread::sleep(Duration::from_millis(100));
    house.served.signal("TERM");
    assert!(house.served.ends_within(Duration::from_secs(8)).success());
    house.is_as_before();
}

#[test]
fn a_second_page_on_the_same_port_says_what_to_do() {
    let house = House::new();
    let port = house.served.place.port().to_string();
    let run = house.folder.run(&["bench", "--port", &port]).ends(3);
    run.complains_of(&["--port", &port, "cannot be opened", "give another number"]);
    house.served.get("/").is(200);
    // Started again at once on the same port, it answers, with another key.
    let key = house.served.key.clone();
    let folder = house.folder;
    drop(house.served);
    let again = Served::with(&folder, &["--port", &port]);
    again.get("/").is(200);
    assert_ne!(again.key, key);
}

#[test]
fn every_page_says_that_the_book_is_damaged() {
    let house = House::new();
    let (whole, form) = (house.folder.read("papers.csv"), house.paper());
    let damaged: [&[u8]; 4] = [b"", b"\xff\xfe\0\0", b"not,what\nit,was\n", &[b'"'; 4000]];
    for bytes in damaged {
        house.folder.write("papers.csv", bytes);
        for page in ["/", "/measure", "/paper", "/nothing"] {
            let reply = house.served.get(page);
            assert!((400..600).contains(&reply.status), "{} at {page}", reply.status);
            assert!(
                page == "/nothing" || reply.body.contains("papers.csv"),
                "{page}: {}",
                reply.body
            );
        }
        let reply = house.served.answer(&form);
        assert!((400..600).contains(&reply.status), "{}", reply.status);
        assert_eq!(std::fs::read(house.folder.path().join("papers.csv")).expect("a file"), bytes);
    }
    house.folder.write("papers.csv", &whole);
    house.served.get("/measure").is(200).says("T1");
}

#[test]
fn every_page_says_that_the_book_is_gone_until_it_is_back() {
    let house = House::new();
    let ask = house.paper();
    let (here, there) =
        (house.folder.path().to_owned(), house.folder.path().with_extension("away"));
    std::fs::rename(&here, &there).expect("it is moved");
    for page in ["/", "/measure", "/paper"] {
        let reply = house.served.get(page);
        assert!(
            (400..600).contains(&reply.status) && reply.body.contains("role=\"alert\""),
            "{page}"
        );
    }
    let reply = house.served.answer(&ask);
    assert!((400..600).contains(&reply.status), "{}", reply.status);
    assert!(!here.exists(), "a book was made where none is");
    std::fs::rename(&there, &here).expect("it is moved back");
    house.is_as_before();
    house.served.get("/measure").is(200);
    house.served.answer(&ask).is(303);
}

#[test]
fn what_the_command_line_writes_is_on_the_next_page() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    served.get("/measure").is(200).says("Readings of T1, as sewn");
    folder.measure("T1", "sewn", "9.99,9.98", "7.49,7.50");
    served.get("/measure").is(200).says("Readings of T1, knocked down");
}

#[test]
fn a_read_only_page_never_changes_the_book() {
    let folder = Folder::with_trial();
    let served = Served::with(&folder, &["--port", "0", "--read-only"]);
    let before = folder.holds();
    let writes = ["/measure", "/trial", "/paper", "/thread", "/target"];
    let mends = ["/correct?trial=T1", "/strike?kind=trial&ids=T1"];
    for page in writes.into_iter().chain(mends) {
        let body = served.get(page).is(200).says("This page only shows the book.").body;
        assert!(!body.contains("class=\"button main\"") && !body.contains("danger"), "{body}");
    }
    let fields = [("paper", "new"), ("caliper", "0.1")];
    let reply = served.answer(&served.sends("/paper", &number(1), &fields));
    assert!((400..500).contains(&reply.status), "{}", reply.status);
    assert!(reply.body.contains("only shows the book"), "{}", reply.body);
    assert!(folder.holds() == before);
}

/// No hammer is undone: only the last state of such a block can still be measured.
#[test]
fn a_block_that_was_knocked_down_is_not_asked_for_as_sewn() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    for state in ["knocked", "knocked+pressed"] {
        folder.measure("T1", state, "9.6,9.7", "7.5,7.6");
        served.worked_out(&format!("/measured?trial=T1&state={state}")).says("T1 is done");
        let page = served.worked_out("/measure").says("Readings of T1, knocked down").body;
        assert!(!page.contains("<small>next</small>"), "{page}");
    }
    // The block that is advised is recorded as it is advised, whatever the last one was.
    folder.run(&["correct", "trial", "T1", "--boned", "--reason", "it was boned"]).ends(0);
    let page = served.worked_out("/").body;
    assert!(page.contains("Next: sew a trial block") && page.contains("boned=no"), "{page}");
}
