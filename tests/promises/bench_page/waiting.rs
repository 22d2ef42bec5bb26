//! Readings that wait on a phone: they reach their own book, once, and none blocks the others.

use super::measuring::{READINGS, go, is_silent, phone, type_in, typed};
use crate::support::browser::{Browser, PHONE};
use crate::support::browsers::Lent;
use crate::support::folder::{Folder, trial};
use crate::support::served::Served;
use serde_json::json;

/// The next program, at the address of the one before.
fn again(folder: &Folder, port: u16) -> Served {
    Served::with(folder, &["--port", &port.to_string()])
}

fn rows(folder: &Folder) -> usize {
    folder.read("readings.csv").lines().skip(1).filter(|line| !line.is_empty()).count()
}

const BLOCK: &str = "/measure?trial=T1&state=sewn";

/// A phone at this page of the book; `None` without a browser.
fn opened(folder: &Folder, page: &str) -> Option<(Served, Lent)> {
    let served = Served::open(folder);
    let browser = phone(&served, PHONE)?;
    go(&browser, &served, page);
    Some((served, browser))
}

fn opens(browser: &Browser, served: &Served) {
    browser.go(&served.address());
    browser.sees("Bench");
}

/// Types readings while the program is there, and writes them while it is not.
fn writes_to_nobody(browser: &Browser, served: Served, readings: [&str; 6]) -> u16 {
    type_in(browser, readings);
    browser.until("document.activeElement.id === 'write'");
    let port = served.place.port();
    drop(served);
    browser.press("#write");
    browser.sees("6 readings wait on this phone");
    port
}

fn second_block(folder: &Folder) {
    let sewn = ["--paper", "bond 80", "--thread", "linen 25", "--sections", "10", "--sheets", "4"];
    folder.run(&[&["record", "trial", "T2"][..], &sewn].concat()).ends(0);
}

/// The other book is a copy: it has the same title, blocks and first entries.
#[test]
fn readings_of_one_book_are_never_written_into_another() {
    let (own, other) = (Folder::with_trial(), Folder::with_trial());
    let Some((served, browser)) = opened(&own, BLOCK) else { return };
    let port = writes_to_nobody(&browser, served, READINGS);
    let served = again(&other, port);
    opens(&browser, &served);
    browser.sees("6 readings of T1, as sewn, wait on this phone for another book");
    go(&browser, &served, BLOCK);
    browser.sees("Measure T1, as sewn");
    assert_eq!(typed(&browser), [""; 6], "a draft of another book");
    std::thread::sleep(std::time::Duration::from_secs(5));
    assert_eq!((rows(&own), rows(&other)), (0, 0));
    drop(served);
    let served = again(&own, port);
    opens(&browser, &served);
    browser.until("localStorage.getItem('swellbook-waiting') === '[]'");
    assert_eq!((rows(&own), rows(&other)), (3, 0));
}

/// A moved book is another one to the phone, so it must be possible to write its readings.
#[test]
fn readings_of_another_book_can_be_looked_at_and_written_on_purpose() {
    let (own, other) = (Folder::with_trial(), Folder::with_trial());
    // What was first recorded there under the same name is another block now.
    other.run(&["correct", "trial", "T1", "--name", "A"]).ends(0);
    other.run(&trial("T1")).ends(0);
    let Some((served, browser)) = opened(&own, BLOCK) else { return };
    let port = writes_to_nobody(&browser, served, READINGS);
    let served = again(&other, port);
    opens(&browser, &served);
    browser.press("#outbox a[href^='/measure']");
    browser.sees("Write 6 readings");
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    browser.until("localStorage.getItem('swellbook-waiting') === '[]'");
    assert_eq!((rows(&own), rows(&other)), (0, 3));
}

#[test]
fn one_entry_that_the_book_refuses_does_not_hold_back_the_others() {
    let folder = Folder::with_trial();
    second_block(&folder);
    let Some((served, browser)) = opened(&folder, BLOCK) else { return };
    let port = writes_to_nobody(&browser, served, READINGS);
    folder.run(&["strike", "trial", "T1", "--reason", "cut apart"]).ends(0);
    let served = again(&folder, port);
    // Without the new key nothing is sent, and the page says why.
    browser.sees("The key does not fit");
    opens(&browser, &served);
    browser
        .sees("the book refuses them. Not found. T1 was struck: cut apart. To write readings of");
    browser.sees("The readings are: spine 9.99; 9.49; 9.71; fore-edge 7.49; 7.51; 7.45.");
    go(&browser, &served, "/measure?trial=T2&state=sewn");
    type_in(&browser, READINGS);
    browser.press("#write");
    browser.sees("6 readings of T2, as sewn, at 3 places, are in the book.");
    browser.press("#outbox button");
    browser.until("document.getElementById('outbox').hidden");
    assert_eq!(rows(&folder), 3, "{}", folder.read("readings.csv"));
}

#[test]
fn an_entry_that_is_put_right_is_written_once_and_no_longer_waits() {
    let folder = Folder::with_trial();
    let Some((served, browser)) = opened(&folder, BLOCK) else { return };
    let [a, b, c, d, e, _] = READINGS;
    let port = writes_to_nobody(&browser, served, [a, b, c, d, e, "74.5"]);
    let served = again(&folder, port);
    opens(&browser, &served);
    browser.sees("the book refuses them");
    browser.press("#outbox a[href^='/measure']");
    browser.until("document.querySelector('#says-fore-edge-3 .error')");
    assert_eq!(browser.value("document.querySelector('[name=seen]').value"), "0");
    browser.put("#fore-edge-3", READINGS[5]);
    browser.until("!document.querySelector('#says-fore-edge-3 .error')");
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    go(&browser, &served, "/");
    browser.sees("Bench");
    assert!(!browser.text().contains("on this phone"), "{}", browser.text());
    assert_eq!(rows(&folder), 3, "{}", folder.read("readings.csv"));
}

#[test]
fn a_page_that_only_shows_the_book_keeps_what_waits() {
    let folder = Folder::with_trial();
    let Some((served, browser)) = opened(&folder, BLOCK) else { return };
    let port = writes_to_nobody(&browser, served, READINGS);
    let served = Served::with(&folder, &["--read-only", "--port", &port.to_string()]);
    opens(&browser, &served);
    browser.sees("6 readings wait on this phone. This page only shows the book.");
    drop(served);
    let served = again(&folder, port);
    opens(&browser, &served);
    browser.until("localStorage.getItem('swellbook-waiting') === '[]'");
    assert_eq!(rows(&folder), 3);
}

#[test]
fn a_draft_is_found_again_at_its_own_block() {
    let folder = Folder::with_trial();
    let Some((served, browser)) = opened(&folder, "/measure") else { return };
    type_in(&browser, READINGS);
    browser.sees("Write 6 readings");
    // Now another block is the next to measure.
    second_block(&folder);
    go(&browser, &served, "/measure");
    browser.sees("Measure T2, as sewn");
    assert_eq!(typed(&browser), [""; 6]);
    browser.press("#outbox a");
    browser.sees("Measure T1, as sewn");
    browser.until("document.getElementById('fore-edge-3').value === '7.45'");
    assert_eq!(typed(&browser), READINGS);
    is_silent(&browser);
    // A block that was struck has no fields for them.
    folder.run(&["strike", "trial", "T1", "--reason", "cut apart"]).ends(0);
    browser.reload();
    browser.sees("T1 was struck: cut apart.");
    browser.sees("typed and not written: spine 9.99; 9.49; 9.71; fore-edge 7.49; 7.51; 7.45.");
}

#[test]
fn undo_takes_back_the_only_value_for_good() {
    let folder = Folder::with_trial();
    let Some((_served, browser)) = opened(&folder, BLOCK) else { return };
    browser.fill("#spine-1", "9.99");
    browser.sees("Write 1 reading");
    browser.press("button[name=undo]");
    browser.sees("Write the readings");
    assert_eq!(typed(&browser), [""; 6]);
    browser.reload();
    browser.sees("Measure T1, as sewn");
    assert_eq!(typed(&browser), [""; 6]);
}

#[test]
fn a_browser_without_the_newest_functions_sends_too() {
    let folder = Folder::with_trial();
    let Some((_served, browser)) = opened(&folder, BLOCK) else { return };
    browser.run("delete AbortSignal.timeout", &json!(null));
    type_in(&browser, READINGS);
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    assert_eq!(rows(&folder), 3);
}

/// Coming back from the card once showed changed controls beside an old prediction.
#[test]
fn coming_back_to_a_way_shows_and_keeps_what_was_chosen() {
    let folder = Folder::with_trial();
    let way = "/plan/way?paper=bond+80&thread=linen+25&sections=20&sheets=4&on=1&target=rounded";
    let Some((_served, browser)) = opened(&folder, way) else { return };
    browser.sees("Folds boned");
    browser.press("#boned");
    browser.until("document.querySelector('#settled [name=boned]')");
    browser.until("location.search.includes('boned=yes')");
    browser.press("a[href^='/plan/card']");
    browser.until("location.pathname === '/plan/card'");
    browser.run("history.back()", &json!(null));
    browser.until("location.pathname === '/plan/way' && document.querySelector('#settled')");
    assert_eq!(browser.value("document.getElementById('boned').checked"), true);
    assert_eq!(browser.value("document.querySelector('#settled [name=boned]').value"), "yes");
}

/// Only what is shown can be kept, and a lost answer is said and asked for again.
#[test]
fn a_way_is_kept_only_once_its_answer_is_there() {
    let folder = Folder::with_trial();
    let way = "/plan/way?paper=bond+80&thread=linen+25&sections=20&sheets=4&on=1&target=rounded";
    let Some((_served, browser)) = opened(&folder, way) else { return };
    browser.sees("Folds boned");
    let disabled =
        "[...document.querySelectorAll('[data-keeps] button')].every((it) => it.disabled)";
    browser.until(&format!("!({disabled})"));
    browser.is_cut_off(true);
    browser.press("#boned");
    browser.until(disabled);
    browser.sees("The computer does not answer.");
    assert_eq!(browser.value(disabled), true);
    browser.is_cut_off(false);
    browser.until("document.querySelector('#settled [name=boned]')");
    browser.until(&format!("!({disabled})"));
    browser.sees("chance of meeting");
    browser.put("#keep", "ledger");
    browser.press("[data-keeps] button.main");
    browser.sees("The forecast for ledger is kept");
    assert!(folder.read("forecasts.csv").contains("boned=yes"));
}

/// Holds back the first answer of the program until the page calls `answered`.
const SLOW: &str = "const real = window.fetch; let isFirst = true;
  window.fetch = (...asked) => {
    const answer = real(...asked);
    if (!isFirst) return answer;
    isFirst = false;
    return new Promise((done) => { window.answered = () => done(answer); });
  };";

#[test]
fn values_that_are_changed_while_they_are_on_their_way_are_not_lost() {
    let folder = Folder::with_trial();
    let Some((_served, browser)) = opened(&folder, BLOCK) else { return };
    type_in(&browser, READINGS);
    browser.sees("Write 6 readings");
    browser.run(SLOW, &json!(null));
    browser.press("#write");
    browser.until("window.answered");
    browser.put("#spine-1", "9.89");
    browser.press("#write");
    browser.run("window.answered()", &json!(null));
    browser.sees("the book refuses them. T1: already sent with other values.");
    browser.press("#outbox a[href^='/measure']");
    browser.until("document.getElementById('spine-1').value === '9.89'");
    assert_eq!(rows(&folder), 3, "{}", folder.read("readings.csv"));
}
