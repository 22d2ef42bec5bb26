//! Readings on a phone: none is lost, and each is written once.

use crate::support::browser::{Browser, ENTER, PHONE, Window};
use crate::support::browsers::Lent;
use crate::support::folder::Folder;
use crate::support::served::Served;
use serde_json::json;

/// Six readings of a block of ten sections, as a gauge types them: every spine first.
pub const READINGS: [&str; 6] = ["9.99", "9.49", "9.71", "7.49", "7.51", "7.45"];
pub const FIELDS: [&str; 6] =
    ["spine-1", "spine-2", "spine-3", "fore-edge-1", "fore-edge-2", "fore-edge-3"];
/// The time between two keys of a gauge, in milliseconds.
const APART: u64 = 40;

/// A phone that has opened the book.
pub fn phone(served: &Served, window: Window) -> Option<Lent> {
    let browser = Lent::open(window)?;
    browser.go(&served.address());
    browser.sees("Bench");
    // The key is gone from the address, and was not sent on as a referrer.
    assert_eq!(browser.address(), format!("http://{}/", served.place));
    assert_eq!(browser.value("document.referrer"), "");
    Some(browser)
}

/// A served book with a trial, and a phone that shows the form for its readings.
struct Measuring {
    folder: Folder,
    served: Served,
    browser: Lent,
}

/// `None` if no browser is installed.
fn measuring(window: Window) -> Option<Measuring> {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let browser = phone(&served, window)?;
    go(&browser, &served, "/measure");
    Some(Measuring { folder, served, browser })
}

pub fn go(browser: &Browser, served: &Served, path: &str) {
    browser.go(&format!("http://{}{path}", served.place));
}

/// The values of the fields, in the order of the bench.
pub fn typed(browser: &Browser) -> Vec<String> {
    let field = |name: &str| browser.value(&format!("document.getElementById('{name}').value"));
    FIELDS.map(|name| field(name).as_str().unwrap_or_default().to_owned()).into()
}

/// Types all six as a gauge does.
pub fn type_in(browser: &Browser, readings: [&str; 6]) {
    browser.until("document.activeElement.id === 'spine-1' && document.readyState === 'complete'");
    browser.keys(&readings.map(|value| format!("{value}{ENTER}")).concat(), APART);
}

fn readings(folder: &Folder) -> usize {
    folder.read("readings.csv").lines().skip(1).filter(|line| !line.is_empty()).count()
}

/// Asserts that the three places were written, once each.
#[track_caller]
fn is_written(folder: &Folder) {
    let rows = folder.read("readings.csv");
    assert_eq!(readings(folder), 3, "{rows}");
    for (spine, fore_edge) in [("9.99", "7.49"), ("9.49", "7.51"), ("9.71", "7.45")] {
        assert!(rows.contains(&format!("{spine},{fore_edge}")), "{spine}, {fore_edge} in {rows}");
    }
    folder.run(&["audit"]);
}

#[track_caller]
pub fn is_silent(browser: &Browser) {
    let said = browser.console();
    assert!(said.is_empty(), "{said:?}");
}

#[test]
fn a_gauge_types_into_field_after_field_and_never_sends() {
    let Some(Measuring { folder, served, browser }) = measuring(PHONE) else { return };
    type_in(&browser, READINGS);
    assert_eq!(typed(&browser), READINGS);
    browser.until("document.activeElement.id === 'write'");
    // A gauge that ends its line twice presses nothing.
    assert_eq!(readings(&folder), 0);
    assert!(browser.address().ends_with("/measure"), "{}", browser.address());
    browser.sees("swell so far");
    browser.sees("Write 6 readings");
    assert_eq!(browser.value("document.getElementById('mean-spine').textContent"), "9.73");
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    browser.sees("What this has changed");
    browser.sees("bond 80 as sewn: the share of the thread that shows at the spine");
    is_written(&folder);
    is_silent(&browser);
    // The next state follows, with empty fields.
    go(&browser, &served, "/measure");
    browser.sees("Measure T1, knocked down");
    assert_eq!(typed(&browser), [""; 6]);
}

#[test]
fn a_gauge_that_ends_its_line_twice_skips_no_field_and_presses_nothing() {
    let Some(Measuring { folder, served, browser }) = measuring(PHONE) else { return };
    browser.until("document.activeElement.id === 'spine-1'");
    browser.keys(&READINGS.map(|value| format!("{value}{ENTER}{ENTER}")).concat(), 5);
    assert_eq!(typed(&browser), READINGS);
    browser.until("document.activeElement.id === 'write'");
    browser.sees("Write 6 readings");
    assert!(browser.address().ends_with("/measure"), "{}", browser.address());
    assert_eq!(readings(&folder), 0);
    // A person can still skip a place by pressing Enter.
    go(&browser, &served, "/measure?trial=T1&state=unsewn");
    browser.until("document.activeElement.id === 'spine-1'");
    browser.keys(&format!("9{ENTER}"), 0);
    std::thread::sleep(std::time::Duration::from_millis(400));
    browser.keys(ENTER, 0);
    browser.until("document.activeElement.id === 'spine-3'");
}

#[test]
fn a_wrong_value_is_refused_at_its_field_while_it_is_typed() {
    let Some(Measuring { folder, served: _served, browser }) = measuring(PHONE) else { return };
    browser.fill("#spine-1", "9,99");
    browser.fill("#spine-2", "99");
    browser.until("document.querySelector('#says-spine-2 .error')");
    browser.until("document.getElementById('spine-2').getAttribute('aria-invalid') === 'true'");
    assert_eq!(browser.value("document.querySelector('#says-spine-1 .error')"), json!(null));
    // The focus stays where it was.
    assert_eq!(browser.value("document.activeElement.id"), "spine-2");
    // The form that is shown again has a new number.
    let number = "document.querySelector('[name=number]').value";
    let sent = browser.value(number);
    browser.press("#write");
    browser.until(&format!("{number} !== {sent}"));
    browser.until("document.querySelector('#says-spine-2 .error') && document.querySelector('#spine-2').value === '99'");
    assert_eq!(readings(&folder), 0);
    // Refused readings do not wait on the phone.
    let waiting =
        browser.value("JSON.parse(localStorage.getItem('swellbook-waiting') || '[]').length");
    assert_eq!(waiting, 0);
}

#[test]
fn a_doubt_about_the_whole_block_is_settled_with_its_box() {
    let Some(Measuring { folder, served: _served, browser }) = measuring(PHONE) else { return };
    browser.fill("#spine-1", "9.99");
    browser.until("document.getElementById('sure')");
    browser.press("#sure");
    browser.until("!document.querySelector('form.htmx-request')");
    std::thread::sleep(std::time::Duration::from_millis(600));
    browser.until("document.getElementById('sure').checked");
    browser.press("#write");
    browser.sees("1 reading of T1, as sewn, at 1 place, is in the book.");
    assert_eq!(readings(&folder), 1);
    is_silent(&browser);
}

#[test]
fn a_double_tap_writes_once() {
    let Some(Measuring { folder, served: _served, browser }) = measuring(PHONE) else { return };
    type_in(&browser, READINGS);
    let tap = "const button = document.getElementById('write'); \
               button.click(); button.click(); setTimeout(() => button.click(), 20)";
    browser.run(tap, &json!(null));
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    is_written(&folder);
    is_silent(&browser);
}

#[test]
fn readings_wait_on_the_phone_until_the_network_is_back() {
    let Some(Measuring { folder, served, browser }) = measuring(PHONE) else { return };
    type_in(&browser, READINGS);
    browser.sees("Write 6 readings");
    browser.is_cut_off(true);
    browser.press("#write");
    browser.sees("6 readings wait on this phone");
    assert_eq!(readings(&folder), 0);
    // The typed values stay in their fields.
    assert_eq!(typed(&browser), READINGS);
    browser.is_cut_off(false);
    browser.until("!document.body.innerText.includes('wait on this phone')");
    is_written(&folder);
    go(&browser, &served, "/measure");
    browser.sees("Measure T1, knocked down");
    is_written(&folder);
}

#[test]
fn readings_outlast_the_program_and_its_key() {
    let Some(Measuring { folder, served, browser }) = measuring(PHONE) else { return };
    type_in(&browser, READINGS);
    let port = served.place.port().to_string();
    drop(served);
    browser.press("#write");
    browser.sees("6 readings wait on this phone");
    let again = Served::with(&folder, &["--port", &port]);
    // The old key is refused, and the waiting readings are kept.
    std::thread::sleep(std::time::Duration::from_secs(5));
    assert_eq!(readings(&folder), 0);
    browser.sees("6 readings wait on this phone");
    browser.go(&again.address());
    browser.sees("Bench");
    browser.until("localStorage.getItem('swellbook-waiting') === '[]'");
    is_written(&folder);
}

#[test]
fn a_page_that_is_opened_again_has_what_was_typed() {
    let Some(Measuring { folder, served, browser }) = measuring(PHONE) else { return };
    type_in(&browser, READINGS);
    browser.reload();
    browser.until("document.getElementById('fore-edge-3').value === '7.45'");
    assert_eq!(typed(&browser), READINGS);
    browser.sees("Write 6 readings");
    // Another page says that they are not written.
    go(&browser, &served, "/");
    browser.sees("6 readings of T1, as sewn, typed and not written.");
    go(&browser, &served, "/measure");
    browser.sees("Write 6 readings");
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    go(&browser, &served, "/");
    browser.sees("Bench");
    assert!(!browser.text().contains("not written"), "{}", browser.text());
    is_written(&folder);
    is_silent(&browser);
}

#[test]
fn two_phones_and_the_command_line_lose_nothing() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let Some(one) = phone(&served, PHONE) else { return };
    let Some(other) = phone(&served, Window { width: 820, height: 1180, ..PHONE }) else { return };
    for browser in [&one, &other] {
        go(browser, &served, "/measure?trial=T1&state=sewn");
        type_in(browser, READINGS);
        browser.sees("Write 6 readings");
    }
    std::thread::scope(|scope| {
        scope.spawn(|| one.press("#write"));
        scope.spawn(|| other.press("#write"));
        scope.spawn(|| folder.measure("T1", "sewn", "9.6,9.61", "7.4,7.41"));
    });
    // The later phone is shown what the others wrote, and adds to it.
    for browser in [&one, &other] {
        let changed =
            "document.querySelector('h1').innerText.includes('has changed since you opened it')";
        browser.until(&format!("location.pathname === '/measured' || {changed}"));
        if !browser.address().contains("/measured") {
            browser.sees("Nothing of yours is lost.");
            browser.press("#write");
        }
        browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    }
    assert_eq!(readings(&folder), 3 + 3 + 2, "{}", folder.read("readings.csv"));
}

#[test]
fn without_script_it_is_an_ordinary_form() {
    let window = Window { script: false, ..PHONE };
    let Some(Measuring { folder, served: _served, browser }) = measuring(window) else { return };
    // Enter goes on to the next field here too: the page is loaded again with the typed values.
    for (field, value) in FIELDS.into_iter().zip(READINGS) {
        browser.until(&format!("document.activeElement.id === '{field}'"));
        browser.keys(&format!("{value}{ENTER}"), 0);
    }
    browser.sees("Write 6 readings");
    assert_eq!(readings(&folder), 0);
    browser.press("button[name=undo]");
    browser.sees("Write 5 readings");
    browser.fill("#fore-edge-3", READINGS[5]);
    browser.press("#write");
    browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
    browser.sees("What this has changed");
    is_written(&folder);
    is_silent(&browser);
}
