//! Every page as a browser shows it: nothing is cut off, no check complains, everybody can use it.

use super::names::odd_book;
use crate::book::backup::digest;
use crate::support::browser::{Browser, PHONE, Window};
use crate::support::folder::Folder;
use crate::support::served::{Served, pages};
use serde_json::{Value, json};
use std::collections::{BTreeSet, VecDeque};

/// axe-core 4.14.1 as its makers publish it (npm package `axe-core`, `axe.min.js`, MPL-2.0), with its
/// licences beside it.
const AXE: &str = include_str!("axe.min.js");
const AXE_DIGEST: &str = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c";
/// The rules of WCAG 2.2 up to AA, and the best practices of axe.
const RULES: [&str; 6] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
/// The rules about colours.
const OF_COLOURS: [&str; 2] = ["color-contrast", "link-in-text-block"];
/// The widths of a phone, a tablet and a desk.
const WIDTHS: [u32; 3] = [390, 820, 1200];

/// Finds texts and fields that stick out of the window, except in parts that scroll by themselves.
const CUT_OFF: &str = "
  const wide = document.documentElement.scrollWidth - innerWidth, found = [];
  if (wide > 0) found.push(`the page is ${wide} pixels too wide`);
  const isShown = (it) => it.checkVisibility({ visibilityProperty: true }) && !it.closest('.unseen, .skip, svg');
  const isScrolled = (it) => {
    for (let at = it.parentElement; at && at !== document.body; at = at.parentElement) {
      if (['auto', 'scroll'].includes(getComputedStyle(at).overflowX)) return true;
    }
    return false;
  };
  for (const it of document.querySelectorAll('main *, header *, nav *')) {
    if (!isShown(it) || isScrolled(it)) continue;
    const box = it.getBoundingClientRect();
    const isOut = box.width > 0 && (box.right > innerWidth + 1 || box.left < -1);
    if (isOut && !it.children.length) found.push(it.outerHTML.slice(0, 120));
  }
  // What a finger presses: 24 pixels at least (WCAG 2.2, 2.5.8), unless it is a word in a sentence.
  for (const it of document.querySelectorAll('button, .button, input:not([type=hidden]), select, nav a')) {
    const box = (it.closest('label') || it).getBoundingClientRect();
    if (isShown(it) && (box.width < 24 || box.height < 24)) found.push(`${box.width}x${box.height}: ${it.outerHTML.slice(0, 120)}`);
  }
  return found.slice(0, 5);";

/// Finds dark-scheme rules that change anything but colours. If there are none, only the rules
/// about colours can find faults in the dark that they do not find by day.
const DARKENED: &str = "
  const found = [];
  const walk = (rules, isDark) => [...rules].forEach((rule) => {
    if (rule.cssRules?.length) walk(rule.cssRules, isDark || /color-scheme/.test(rule.conditionText));
    for (const name of isDark && rule.style ? rule.style : []) {
      const isPaint = ['fill', 'stroke'].includes(name);
      const isColour = isPaint || CSS.supports('color', rule.style.getPropertyValue(name));
      if (!isColour || !(isPaint || name.startsWith('--'))) found.push(rule.cssText);
    }
  });
  for (const sheet of document.styleSheets) walk(sheet.cssRules, /color-scheme/.test(sheet.media.mediaText));
  return found;";

const CHECKED: &str = "
  const [rules, done] = [arguments[0], arguments[1]];
  axe.run(document, { runOnly: rules, resultTypes: ['violations'] }).then((results) => done(
    results.violations.map((it) => `${it.id}: ${it.nodes.map((node) => `${node.target} ${node.failureSummary}`).join(' | ')}`)));";

/// Links of a page to other pages of the book. Links with a type lead to files and are left out.
const LINKS: &str =
    "[...document.querySelectorAll('a[href]:not([type])')].map((it) => new URL(it.href))
  .filter((it) => it.origin === location.origin).map((it) => it.pathname + it.search)";

/// The kind of page at an address: its path and the names of its query fields, without values.
fn kind(address: &str) -> String {
    let (path, query) = address.split_once('?').unwrap_or((address, ""));
    let mut names: Vec<&str> = query.split('&').filter_map(|it| it.split('=').next()).collect();
    names.sort_unstable();
    format!("{path}?{}", names.join("&"))
}

/// A browser that checks the pages of a book, and the faults found.
struct Looking {
    browser: Browser,
    root: String,
    wrong: Vec<String>,
}

impl Looking {
    /// Checks one page at every width and in each of these colour schemes.
    fn at(&mut self, page: &str, is_linked: bool, lights: &[Light]) {
        let browser = &self.browser;
        browser.is_wide(WIDTHS[0]);
        browser.go(&format!("{}{page}", self.root));
        browser.until("document.readyState === 'complete' && !document.querySelector('meta[http-equiv=refresh]')");
        let mut found = Vec::new();
        for light in lights {
            browser.is_dark(*light == Light::Dark);
            found.push((format!("axe, {light:?}"), browser.run_later(CHECKED, &light.rules())));
        }
        browser.is_dark(false);
        found.push(("dark".to_owned(), browser.run(DARKENED, &Value::Null)));
        for width in WIDTHS {
            browser.is_wide(width);
            found.push((format!("at {width}"), browser.run(CUT_OFF, &Value::Null)));
        }
        found.push(("unescaped".to_owned(), browser.value("[window.hacked].filter(Boolean)")));
        // The bare address of some pages lacks what they need, so the console reports its failure.
        let is_own = |line: &String| {
            !is_linked && line.starts_with(&format!("{}{page} - Failed", self.root))
        };
        let said: Vec<String> =
            browser.console().into_iter().filter(|line| !is_own(line)).collect();
        found.push(("console".to_owned(), json!(said)));
        for (what, found) in found {
            let found = found.as_array().cloned().unwrap_or_default();
            let words = found.iter().map(|it| it.as_str().unwrap_or_default());
            self.wrong.extend(words.map(|words| format!("{page}, {what}: {words}")));
        }
    }

    fn links(&self) -> Vec<String> {
        let links = self.browser.value(LINKS);
        links
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|it| it.as_str().map(str::to_owned))
            .collect()
    }
}

/// The colour scheme that a person has chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Light {
    Bright,
    Dark,
}

impl Light {
    /// The rules that axe checks.
    fn rules(self) -> Value {
        match self {
            Self::Bright => json!({ "type": "tag", "values": RULES }),
            Self::Dark => json!({ "type": "rule", "values": OF_COLOURS }),
        }
    }
}

/// Checks every page of a book, and one page of every kind that they link to.
#[track_caller]
fn is_sound(served: &Served, lights: &[Light]) {
    let Some(browser) = Browser::open(Window { touched: false, ..PHONE }) else { return };
    browser.brings(AXE);
    browser.go(&served.address());
    browser.sees("Bench");
    let root = format!("http://{}", served.place);
    let mut looking = Looking { browser, root, wrong: Vec::new() };
    let mut seen = BTreeSet::new();
    let mut next: VecDeque<(String, bool)> =
        pages().into_iter().map(|page| (page, false)).collect();
    while let Some((page, is_linked)) = next.pop_front() {
        if seen.insert(kind(&page)) {
            looking.at(&page, is_linked, lights);
            next.extend(looking.links().into_iter().map(|page| (page, true)));
        }
    }
    assert!(looking.wrong.is_empty(), "{} pages\n{}", seen.len(), looking.wrong.join("\n"));
    assert!(seen.len() >= pages().len());
}

#[test]
fn the_pages_of_the_tour_are_sound_also_in_the_dark() {
    let folder = Folder::toured();
    let served = Served::with(&folder, &["--book", "tour", "--port", "0"]);
    // The script ignores the colour scheme, so what it does is the same in the dark.
    assert!(!served.get("/bench.js").is(200).body.contains("color-scheme"));
    is_sound(&served, &[Light::Bright, Light::Dark]);
}

#[test]
fn the_pages_of_an_empty_book_are_sound() {
    is_sound(&Served::open(&Folder::with_book()), &[Light::Bright]);
}

#[test]
fn the_pages_of_names_that_look_like_markup_are_sound() {
    is_sound(&Served::open(&odd_book()), &[Light::Bright]);
}

/// The checks themselves, on a page with every fault that they look for.
#[test]
fn the_checks_find_what_is_wrong() {
    let Some(browser) = Browser::open(Window { touched: false, ..PHONE }) else { return };
    let page = "<!DOCTYPE html><html><title>x</title><main><p style='width:1500px'>wide</p>\
                <p style='color:%23999;background:white'>too pale to read</p><input>\
                <button style='width:10px;height:10px;padding:0'></button></main>";
    browser.brings(AXE);
    browser.go(&format!("data:text/html,{page}"));
    browser.is_wide(390);
    let found = browser.run_later(CHECKED, &Light::Bright.rules()).to_string();
    for rule in ["color-contrast", "label", "button-name", "html-has-lang"] {
        assert!(found.contains(rule), "no {rule} in {found}");
    }
    let dark = browser.run_later(CHECKED, &Light::Dark.rules()).to_string();
    assert!(dark.contains("color-contrast") && !dark.contains("label"), "{dark}");
    let style =
        "@media (prefers-color-scheme: dark) { p { --ink: %23fff; --wide: 9px; color: red } }";
    browser.go(&format!("data:text/html,<style>{style}</style>"));
    let darkened = browser.run(DARKENED, &Value::Null);
    assert_eq!(darkened.as_array().map(Vec::len), Some(2), "{darkened}");
    browser.go(&format!("data:text/html,{page}"));
    browser.is_wide(390);
    let found = browser.run(CUT_OFF, &Value::Null).to_string();
    assert!(
        found.contains("too wide") && found.contains("10x10") && found.contains("1500px"),
        "{found}"
    );
    browser.run("console.error('a complaint')", &Value::Null);
    assert!(browser.console().iter().any(|line| line.contains("a complaint")));
}

#[test]
fn axe_is_as_its_makers_publish_it() {
    assert_eq!(digest(AXE.as_bytes()), AXE_DIGEST);
    assert!(
        AXE.contains("axe v4.14.1")
            && include_str!("axe.LICENSE").contains("Mozilla Public License")
    );
}
