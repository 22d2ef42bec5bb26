//! A binder's whole afternoon on a phone: a new book, its first block, a plan and its sewing.

use super::measuring::{FIELDS, READINGS, go, is_silent, phone, type_in};
use crate::support::browser::{PHONE, Window};
use crate::support::browsers::Lent;
use crate::support::folder::Folder;
use crate::support::served::Served;
use serde_json::json;

/// The button that sends the form of a page.
const SEND: &str = "form[method=post] .actions .button";
/// The same block, knocked down.
const KNOCKED: [&str; 6] = ["9.51", "9.40", "9.45", "7.45", "7.50", "7.48"];

struct Binder<'s> {
    served: &'s Served,
    browser: Lent,
    script: bool,
}

impl Binder<'_> {
    #[track_caller]
    fn opens(&self, path: &str) {
        go(&self.browser, self.served, path);
        self.browser.until(
            "document.querySelector('h1') && !document.querySelector('meta[http-equiv=refresh]')",
        );
    }

    /// Fills in and sends a form, then waits for the expected text.
    #[track_caller]
    fn sends(&self, fields: &[(&str, &str)], button: &str, then: &str) {
        for (field, value) in fields {
            self.browser.put(&format!("#{field}"), value);
        }
        // Wait for the next page, so that the text is not found on this one.
        self.browser.run("window.goes = true", &json!(null));
        self.browser.press(button);
        self.browser.until("!window.goes && document.readyState === 'complete'");
        self.browser.sees(then);
    }

    #[track_caller]
    fn measures(&self, readings: [&str; 6]) {
        match self.script {
            true => type_in(&self.browser, readings),
            false => {
                for (field, value) in FIELDS.into_iter().zip(readings) {
                    self.browser.fill(&format!("#{field}"), value);
                }
            }
        }
        self.browser.press("#write");
    }

    #[track_caller]
    fn records_a_block(&self) {
        self.opens("/paper");
        self.sends(&[("paper", "bond 80"), ("reading", "1.00")], SEND, "bond 80");
        self.opens("/thread");
        self.sends(&[("thread", "linen 25"), ("count", "lea 25/3")], SEND, "linen 25");
        self.opens("/target");
        self.sends(
            &[("target", "half leather"), ("low", "20"), ("high", "35")],
            SEND,
            "half leather",
        );
        self.opens("/trial");
        self.sends(&[("sections", "10"), ("sheets", "4")], SEND, "Measure T1");
        self.opens("/measure?trial=T1&state=sewn");
        self.measures(READINGS);
        self.browser.sees("6 readings of T1, as sewn, at 3 places, are in the book.");
        self.sends(&[], "section[aria-labelledby=then] .button.main", "Measure T1, knocked down");
        self.measures(KNOCKED);
        self.browser.sees("6 readings of T1, knocked down, at 3 places, are in the book.");
        self.browser
            .sees("bond 80 knocked down: the share of the thread that shows at the spine was");
    }

    #[track_caller]
    fn plans(&self) {
        self.opens("/plan");
        self.sends(
            &[("leaves", "160")],
            "form[action='/plan'] .button",
            "chance of meeting the target",
        );
        self.sends(&[], ".panel.answer .button.main", "Settle on this way");
        if self.script {
            let slide = "const field = document.getElementById('sheets'); field.value = 4; \
                         field.dispatchEvent(new Event('input', { bubbles: true }));";
            self.browser.run(slide, &json!(null));
            self.browser.until("document.querySelector('#settled [name=sheets]').value === '4'");
            self.browser.sees("4 (20 sections");
        }
        let keep = "form[method=post][action='/plan/way'] .button";
        self.sends(&[("keep", "gift")], keep, "Next: sew a third of it, then measure");
        self.sends(&[], "a[href^='/part-way']", "Go on, change or stop?");
        let part = [("sewn", "8"), ("spine-1", "8.2"), ("fore-edge-1", "6.4")];
        self.sends(&part, "#write", "%");
        self.browser.until("document.querySelector('#odds')");
        self.opens("/plan");
        self.sends(&[], "a[href^='/plan/card']", "bond 80");
    }

    #[track_caller]
    fn corrects_and_strikes(&self) {
        self.opens("/log");
        self.sends(&[], "th a[href^='/log']", "Readings");
        self.sends(&[], "a[href^='/correct?reading']", "Correct T1");
        let right = [("spine", "9.95"), ("reason", "misread")];
        self.sends(&right, SEND, "9.95");
        self.opens("/learnt");
        self.opens("/log?trial=T1");
        self.sends(&[], "a[href^='/strike?kind=trial']", "Leave it as it is");
        self.sends(&[("reason", "cut apart")], SEND, "Struck");
    }
}

#[track_caller]
fn afternoon(window: Window) {
    let folder = Folder::with_book();
    let served = Served::open(&folder);
    let Some(browser) = phone(&served, window) else { return };
    let binder = Binder { served: &served, browser, script: window.script };
    binder.records_a_block();
    assert_eq!(folder.read("readings.csv").lines().count(), 1 + 6);
    binder.plans();
    assert!(folder.read("forecasts.csv").contains("gift"));
    binder.corrects_and_strikes();
    is_silent(&binder.browser);
    let struck = folder.read("struck.csv");
    assert!(struck.contains("misread") && struck.contains("cut apart"), "{struck}");
    folder.run(&["audit"]).ends(0);
}

#[test]
fn an_afternoon_at_the_bench() {
    afternoon(PHONE);
}

#[test]
fn an_afternoon_at_the_bench_without_script() {
    afternoon(Window { script: false, ..PHONE });
}

/// Otherwise the tests without script would run with it.
#[test]
fn a_window_without_script_runs_none() {
    for script in [true, false] {
        let Some(browser) = Lent::open(Window { script, ..PHONE }) else { return };
        browser
            .go("data:text/html,<title>as sent</title><script>document.title='changed'</script>");
        let title = if script { "changed" } else { "as sent" };
        assert_eq!(browser.value("document.title"), json!(title));
    }
}
