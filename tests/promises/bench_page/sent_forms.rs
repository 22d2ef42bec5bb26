//! Forms that arrive again: with other values, for another book, late, or after somebody else.

use super::saved_plans::seen;
use crate::support::folder::{Folder, PROGRAM};
use crate::support::served::{Reply, Served, number};

const READINGS: [(&str, &str); 8] = [
    ("trial", "T1"),
    ("state", "sewn"),
    ("spine-1", "9.99"),
    ("spine-2", "9.49"),
    ("spine-3", "9.71"),
    ("fore-edge-1", "7.49"),
    ("fore-edge-2", "7.51"),
    ("fore-edge-3", "7.45"),
];
/// The hidden fields of the page for these readings.
const SHOWN: [(&str, &str); 2] = [("seen", "0"), ("shown", "head, middle, tail")];

fn send(served: &Served, path: &str, of: usize, fields: &[(&str, &str)]) -> Reply {
    served.answer(&served.sends(path, &number(of), fields))
}

/// The number that a page gives its next form.
fn number_in(page: &str) -> String {
    let after = page.split("name=\"number\" value=\"").nth(1).expect("a number");
    after.split('"').next().expect("its end").to_owned()
}

/// As after Back, another name and a second tap.
#[test]
fn a_form_that_was_changed_and_sent_again_is_not_taken_for_written() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let sewn = [("paper", "bond 80"), ("thread", "linen 25"), ("sections", "9"), ("sheets", "4")];
    let sewn = [&sewn[..], &[("on", "2"), ("ends", "3+4")]].concat();
    for (at, (path, file, name, rest)) in [
        ("/thread", "threads.csv", "thread", &[("laid", "0.5")][..]),
        ("/paper", "papers.csv", "paper", &[("caliper", "0.1")]),
        ("/trial", "trials.csv", "trial", &sewn),
    ]
    .into_iter()
    .enumerate()
    {
        let of = |value| [&[(name, value)], rest].concat();
        send(&served, path, at, &of("q1")).is(303);
        send(&served, path, at, &of("q1")).is(303);
        let refused = send(&served, path, at, &of("q2")).is(422);
        let refused = refused.says("already sent with other values: recorded").body;
        assert!(!folder.read(file).contains("q2"), "{}", folder.read(file));
        // What was typed is there, under a new number.
        assert!(refused.contains("value=\"q2\""), "{refused}");
        served.answer(&served.sends(path, &number_in(&refused), &of("q2"))).is(303);
        let rows = folder.read(file);
        assert_eq!((rows.matches("q1").count(), rows.matches("q2").count()), (1, 1), "{rows}");
    }
    folder.run(&["audit"]).ends(0);
    assert!(folder.read("trials.csv").contains("linen 25,9,4,2,3+4,"));
    served.get("/correct?trial=q1").is(200).says("value=\"3+4\"");
    // The next start of the program knows it too.
    let served = Served::open(&folder);
    send(&served, "/thread", 0, &[("thread", "q3"), ("laid", "0.5")]).is(422);
}

#[test]
fn readings_that_were_changed_and_sent_again_are_shown_beside_those_in_the_book() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let fields = [&READINGS[..], &SHOWN].concat();
    send(&served, "/measure", 1, &fields).is(303);
    let mut other = fields.clone();
    other[2].1 = "9.89";
    let page = send(&served, "/measure", 1, &other).is(422).says("already sent with other values");
    let page = page.says("You sent this form before").body;
    assert!(page.contains("9.99 mm, 7.49 mm") && page.contains("9.89, 7.49"), "{page}");
    assert!(!page.contains("somebody else"), "{page}");
    assert_eq!(folder.read("readings.csv").lines().count(), 1 + 3);
}

#[test]
fn a_form_of_another_book_is_refused() {
    let (own, other) = (Folder::with_trial(), Folder::with_trial());
    let mark = |served: &Served| {
        let page = served.get("/").is(200).body;
        let after = page.split("name=\"book-mark\" content=\"").nth(1).expect("a mark");
        after.split('"').next().expect("its end").to_owned()
    };
    let (here, there) = (Served::open(&own), Served::open(&other));
    let paper = |mark: &str| {
        let fields = [("paper", "q1"), ("caliper", "0.1"), ("book", mark)];
        send(&here, "/paper", 1, &fields)
    };
    paper(&mark(&there)).is(409).says("belongs to another book");
    assert!(!own.read("papers.csv").contains("q1"));
    // A restart changes nothing about the book.
    paper(&mark(&Served::open(&own))).is(303);
}

const LATER: &str = "recorded after you opened the form";

#[test]
fn what_one_has_written_is_not_said_to_come_from_somebody_else() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let fields = [&READINGS[..], &SHOWN].concat();
    let written = send(&served, "/measure", 1, &fields).is(303);
    let page = seen(&served, written.header("location").expect("an address"));
    assert!(page.contains("6 readings of T1, as sewn, at 3 places, are in the book."), "{page}");
    assert!(!page.contains(LATER), "{page}");
    // The answer was lost, and others have measured the block before the form comes again.
    let more = ["record", "readings", "T1", "--state", "sewn", "--spine", "9.6,9.7"];
    folder.run(&[&more[..], &["--fore-edge", "7.4,7.5"]].concat()).ends(0);
    let again = send(&served, "/measure", 1, &fields).is(303);
    let page = seen(&served, again.header("location").expect("an address"));
    assert!(page.contains(&format!("2 more places, {LATER}")), "{page}");
}

/// The page is opened again, or its address has a number that nobody sent.
#[test]
fn what_was_undone_is_not_said_to_be_in_the_book() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let written = send(&served, "/measure", 1, &[&READINGS[..], &SHOWN].concat()).is(303);
    let address = written.header("location").expect("an address");
    let there = "6 readings of T1, as sewn, at 3 places, are in the book.";
    assert!(seen(&served, address).contains(there));
    folder.run(&["undo"]).ends(0);
    let stock = address.replace("/measured", "/stock");
    for page in [address, &stock] {
        let page = seen(&served, page);
        assert!(!page.contains(there), "{page}");
        assert!(page.contains("This was undone: recorded 3 readings of T1, as sewn"), "{page}");
    }
    let page = seen(&served, address);
    assert!(page.contains("T1 is not measured as sewn") && page.contains("Measure T1 as sewn"));
    assert!(!page.contains("T1 is done") && !page.contains("One edge alone"), "{page}");
    folder.run(&["undo", "--redo"]).ends(0);
    assert!(seen(&served, address).contains(there));
    let (before, _) = address.split_once("said=").expect("a number");
    let page = seen(&served, &format!("{before}said=abc"));
    assert!(!page.contains("notice said"), "{page}");
}

/// Else almost any block would be in line.
#[test]
fn readings_are_compared_with_what_was_expected_before_them() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let expected = |page: &str| {
        let after = page.split("xpected").nth(1).expect("a range");
        let after = after.split("<span class=\"nowrap\">").nth(1).expect("its figures");
        after.split(" mm").next().expect("a unit").to_owned()
    };
    let live = "/measure?trial=T1&state=sewn&spine-1=11.9&fore-edge-1=7.49";
    let live = expected(&seen(&served, live));
    let values = [("spine-1", "11.9"), ("fore-edge-1", "7.49"), ("shown", "head")];
    let written = send(&served, "/measure", 1, &[&READINGS[..2], &values].concat()).is(303);
    let address = written.header("location").expect("an address");
    assert_eq!(expected(&seen(&served, address)), live);
    // Without what the book said before, nothing is judged.
    let page = seen(&Served::open(&folder), address);
    assert!(page.contains("4.41") && !page.contains("xpected"), "{page}");
}

#[test]
fn a_free_place_that_the_page_showed_is_the_place_that_is_written() {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "10.6,10.7,10.8", "7.4,7.5,7.6");
    let line = ["record", "readings", "T1", "--state", "knocked", "--place", "5"];
    folder.run(&[&line[..], &["--spine", "9.7", "--fore-edge", "7.5"]].concat()).ends(0);
    let served = Served::open(&folder);
    let page = seen(&served, "/measure?trial=T1&state=knocked");
    assert!(page.contains("name=\"shown\" value=\"1, 2, 3\""), "{page}");
    let of = [("trial", "T1"), ("state", "knocked"), ("shown", "1, 2, 3"), ("seen", "1")];
    send(&served, "/measure", 1, &[&of[..], &READINGS[2..]].concat()).is(303);
    let rows = folder.read("readings.csv");
    for row in ["knocked,1,9.99,7.49", "knocked,2,9.49,7.51", "knocked,3,9.71,7.45"] {
        assert!(rows.contains(row), "no {row} in {rows}");
    }
}

/// Readings that wait on a phone would otherwise be given up as refused.
#[test]
fn a_book_that_cannot_be_read_refuses_no_form_for_good() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let papers = folder.read("papers.csv");
    folder.write("papers.csv", format!("{papers}bad,row\n"));
    let fields = [&READINGS[..], &SHOWN].concat();
    send(&served, "/measure", 1, &fields).is(503).says("The book cannot be read or written");
    folder.write("papers.csv", papers);
    send(&served, "/measure", 1, &fields).is(303);
}

#[test]
fn a_name_that_was_offered_and_then_taken_gives_way_to_the_next_free_one() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    seen(&served, "/trial");
    let sewn = [("paper", "bond 80"), ("thread", "linen 25"), ("sections", "9"), ("sheets", "4")];
    let of = |offered| [&[("trial", "T2"), ("offered", offered)], &sewn[..]].concat();
    let first = send(&served, "/trial", 1, &of("T2")).is(303);
    assert!(first.header("location").is_some_and(|it| it.contains("trial=T2")));
    let second = send(&served, "/trial", 2, &of("T2")).is(303);
    let address = second.header("location").expect("an address");
    assert!(address.contains("trial=T3"), "{address}");
    let page = seen(&served, address);
    assert!(page.contains("T2 was recorded meanwhile"), "{page}");
    // A second tap writes nothing more, and a name of one's own is never replaced.
    let again = send(&served, "/trial", 2, &of("T2")).is(303);
    seen(&served, again.header("location").expect("an address"));
    send(&served, "/trial", 3, &of("T9")).is(422);
    assert_eq!(folder.rows("trials.csv").len(), 3, "{}", folder.read("trials.csv"));
}

#[test]
fn readings_that_meet_others_keep_the_places_of_their_page() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let page = served.get("/measure?trial=T1&state=sewn").is(200);
    page.says("name=\"shown\" value=\"head, middle, tail\"");
    let line = ["record", "readings", "T1", "--state", "sewn", "--place", "head,middle"];
    let values = ["--spine", "9.6,9.61", "--fore-edge", "7.4,7.41"];
    folder.run(&[&line[..], &values].concat()).ends(0);
    let fields = [&READINGS[..], &SHOWN].concat();
    let page = send(&served, "/measure", 1, &fields).is(422).body;
    let row = |place: &str| {
        let row = page.split("<tr><th scope=\"row\">").find(|row| row.starts_with(place));
        row.unwrap_or_else(|| panic!("no {place} in {page}")).to_owned()
    };
    assert!(row("head").contains("9.60") && row("head").contains("9.99, 7.49"), "{page}");
    assert!(row("tail").contains("–, –") || row("tail").contains(">–<"), "{page}");
    // A place that is free stays; the others get numbers.
    let more = [&READINGS[..], &SHOWN[1..], &[("more", "yes")]].concat();
    served.answer(&served.sends("/measure", &number_in(&page), &more)).is(303);
    let rows = folder.read("readings.csv");
    for row in ["1,9.99,7.49", "2,9.49,7.51", "tail,9.71,7.45"] {
        assert!(rows.contains(row), "no {row} in {rows}");
    }
}

#[test]
fn another_block_is_measured_at_its_own_places() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let page = served.get("/measure?trial=T1&state=sewn").is(200).body;
    let field = page.split("<input").find(|field| field.contains(" id=\"places\""));
    assert!(field.is_some_and(|field| !field.contains(" value=")), "{field:?}");
    assert!(page.contains("Here: head, middle, tail."), "{page}");
}

#[test]
fn readings_that_waited_have_the_day_on_which_they_were_taken() {
    let folder = Folder::with_trial();
    let mut command = folder.command(PROGRAM);
    command.args(["bench", "--port", "0"]).env("SWELLBOOK_TODAY", "2026-03-05");
    let served = Served::run(&mut command);
    // A clock that is ahead, or behind the day of the sewing, is not believed.
    for (at, (sent, taken)) in [
        ("2026-03-03", "2026-03-03"),
        ("2026-03-06", "2026-03-05"),
        ("1970-01-01", "2026-03-05"),
        ("soon", "2026-03-05"),
    ]
    .into_iter()
    .enumerate()
    {
        let place = format!("p{at}");
        let fields = [&READINGS[..3], &[("fore-edge-1", "7.49"), ("taken", sent)]].concat();
        let fields = [&fields[..], &[("places", place.as_str())]].concat();
        send(&served, "/measure", at, &fields).is(303);
        let rows = folder.read("readings.csv");
        let row = rows.lines().find(|row| row.contains(&place)).expect("a row");
        assert!(row.contains(taken), "{sent}: {row}");
    }
}
