//! Forms of something that was corrected, renamed, struck or added since their page was opened.

use super::saved_plans::seen;
use crate::support::folder::{Folder, trial};
use crate::support::served::{Reply, Served, number};
use std::cell::Cell;

/// A book with its page. Every form that is sent has a number of its own.
struct Late {
    folder: Folder,
    served: Served,
    sent: Cell<usize>,
}

impl Late {
    fn new() -> Self {
        let folder = Folder::with_trial();
        let served = Served::open(&folder);
        Self { folder, served, sent: Cell::default() }
    }

    #[track_caller]
    fn runs(&self, words: &[&str]) {
        self.folder.run(words).ends(0);
    }

    fn sends(&self, path: &str, fields: &[(&str, &str)]) -> Reply {
        self.sent.set(self.sent.get() + 1);
        self.served.answer(&self.served.sends(path, &number(self.sent.get()), fields))
    }

    /// Sends the strike or the return of an entry, from a page as it was opened.
    fn settles(&self, path: &str, [kind, id, seen]: [&str; 3]) -> Reply {
        self.sends(path, &[("kind", kind), ("ids", id), ("seen", seen), ("reason", "a test")])
    }

    /// What this page has seen of an entry.
    #[track_caller]
    fn opens(&self, path: &str, kind: &str, id: &str) -> String {
        hidden(&seen(&self.served, &format!("{path}?kind={kind}&ids={id}")), "seen")
    }
}

/// The value of a field of a page.
#[track_caller]
pub fn hidden(page: &str, name: &str) -> String {
    every(page, name).into_iter().next().unwrap_or_else(|| panic!("no {name} in {page}"))
}

/// The values of all fields of this name.
fn every(page: &str, name: &str) -> Vec<String> {
    let begins = format!("name=\"{name}\" value=\"");
    let fields = page.split(&begins).skip(1);
    let values = fields.filter_map(|field| field.split('"').next());
    values.map(|value| value.replace("&#39;", "'")).collect()
}

const BLOCK: &str = "/measure?trial=T1&state=sewn";
const MEANWHILE: &str = "was corrected or struck meanwhile; look at it again";

#[test]
fn a_strike_never_meets_another_entry_than_its_page_has_shown() {
    let late = Late::new();
    late.folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.1");
    let of_trial = late.opens("/strike", "trial", "T1");
    let reading = late.opens("/strike", "reading", "T1/sewn/1");
    late.runs(&["correct", "reading", "T1/sewn/1", "--spine", "11.05"]);
    let page = late.settles("/strike", ["reading", "T1/sewn/1", &reading]).is(422);
    let page = page.says(&format!("reading &#39;T1/sewn/1&#39; {MEANWHILE}")).body;
    assert!(page.contains("11.05"), "{page}");
    late.settles("/strike", ["reading", "T1/sewn/1", &hidden(&page, "seen")]).is(303);
    // Another trial has the name now.
    late.runs(&["correct", "trial", "T1", "--name", "A"]);
    late.runs(&trial("T1"));
    late.settles("/strike", ["trial", "T1", &of_trial]).is(422).says(MEANWHILE);
    let seen = late.opens("/strike", "trial", "T1");
    late.settles("/strike", ["trial", "T1", &seen]).is(303);
}

#[test]
fn a_trial_is_not_struck_with_readings_that_its_page_has_not_shown() {
    let late = Late::new();
    late.folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.1");
    let page = seen(&late.served, "/strike?kind=trial&ids=T1");
    assert!(page.contains("Its 2 readings are struck with it."), "{page}");
    let send = |page: &str| {
        let [seen, along] = ["seen", "along"].map(|name| every(page, name));
        let seen = seen.iter().map(|it| ("seen", it.as_str()));
        let shown: Vec<_> = seen.chain(along.iter().map(|it| ("along", it.as_str()))).collect();
        let own = [("kind", "trial"), ("ids", "T1"), ("reason", "a test")];
        late.sends("/strike", &[&own[..], &shown].concat())
    };
    let refused = |page: &str, count: &str| {
        let says = "were added, corrected or struck meanwhile; look at it again";
        let page = send(page).is(422).says(says).body;
        assert!(page.contains(&format!("Its {count} are struck with it.")), "{page}");
        page
    };
    late.folder.measure("T1", "knocked", "11.0", "8.3");
    let page = refused(&page, "3 readings");
    // As many as before, but not the same ones.
    late.runs(&["strike", "reading", "T1/sewn/2", "--reason", "a slip"]);
    late.folder.measure("T1", "knocked", "11.1", "8.3");
    let page = refused(&page, "3 readings");
    late.runs(&["correct", "reading", "T1/sewn/1", "--spine", "11.05"]);
    let page = refused(&page, "3 readings");
    send(&page).is(303);
}

#[test]
fn a_forecast_is_kept_only_with_the_figures_that_its_page_has_shown() {
    let late = Late::new();
    late.folder.measure("T1", "knocked", "11.0,11.1", "8.3,8.35");
    let plan = [("paper", "bond 80"), ("thread", "linen 25"), ("sections", "20"), ("sheets", "4")];
    let way = "/plan/way?paper=bond+80&thread=linen+25&sections=20&sheets=4&target=rounded-backed";
    let shown = hidden(&seen(&late.served, way), "seen");
    let keep = |figures: &str| {
        let own = [("target", "rounded-backed"), ("keep", "ledger"), ("seen", figures)];
        late.sends("/plan/way", &[&plan[..], &own].concat()).is(303)
    };
    late.runs(&trial("T2"));
    // A trial that is not measured changes no figure.
    assert_eq!(hidden(&seen(&late.served, way), "seen"), shown);
    late.folder.measure("T2", "knocked", "11.6,11.7", "8.3,8.35");
    // A page without figures has shown none.
    for figures in ["", &shown] {
        let to = keep(figures);
        assert!(to.header("location").is_some_and(|it| it.starts_with("/plan/way?")), "{figures}");
    }
    let new = keep(&shown).header("location").expect("an address").to_owned();
    assert_eq!(late.folder.read("forecasts.csv").lines().count(), 1);
    seen(&late.served, way);
    let page =
        late.served.get(&new).is(422).says("The book has changed since you opened this page");
    let figures = hidden(&page.body, "seen");
    assert!(figures != shown && page.body.contains("value=\"ledger\""), "{}", page.body);
    assert!(keep(&figures).header("location").is_some_and(|it| it.starts_with("/plan/kept?")));
    let kept = late.folder.read("forecasts.csv");
    let (swell, chance) = figures.split_once(' ').expect("a chance");
    assert!(kept.contains(swell) && kept.contains(chance.trim_end_matches('0')), "{kept}");
}

#[test]
fn only_what_its_page_has_shown_is_brought_back() {
    let late = Late::new();
    let strike = || late.runs(&["strike", "trial", "T1", "--reason", "a test"]);
    strike();
    let first = late.opens("/restore", "trial", "T1");
    late.runs(&trial("T1"));
    strike();
    late.settles("/restore", ["trial", "T1", &first]).is(422).says(MEANWHILE);
    let last = late.opens("/restore", "trial", "T1");
    late.runs(&["restore", "trial", "T1"]);
    let gone = late.settles("/restore", ["trial", "T1", &last]).is(404);
    gone.says("This entry is not struck. Perhaps it was brought back meanwhile.");
    strike();
    let again = late.opens("/restore", "trial", "T1");
    late.settles("/restore", ["trial", "T1", &again]).is(303);
}

#[test]
fn an_unchanged_correction_is_refused_in_the_words_of_the_page() {
    let late = Late::new();
    late.folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.1");
    let values = [("spine", "11.0"), ("fore-edge", "8.0"), ("reason", "misread")];
    let same = [&[("reading", "T1/sewn/1")], &values[..]].concat();
    let page = late.sends("/correct", &same).is(422);
    let page = page.says("already has these values; give one that is to change<").body;
    assert!(!page.contains("swellbook correct"), "{page}");
}

#[test]
fn a_sheet_that_has_faults_or_nothing_new_by_now_says_so_and_keeps_its_cells() {
    let late = Late::new();
    let cells = "trial,paper,thread,sections,sheets,state,spine_mm,fore_edge_mm\n\
                 S1,bond 80,linen 25,10,4,sewn,11.0,8.0\n";
    let add = || late.sends("/import", &[("paste", cells), ("add", "yes")]);
    late.sends("/import", &[("paste", cells)]).is(200).says("Would add 1 trial, 1 reading");
    late.runs(&["correct", "paper", "bond 80", "--name", "elder"]);
    let page = add().is(422).says("2 faults in the pasted cells").says("S1,bond 80,linen 25").body;
    assert!(page.contains("Nothing was added."), "{page}");
    late.runs(&["correct", "paper", "elder", "--name", "bond 80"]);
    add().is(303);
    let page = add().is(200);
    page.says("Nothing was added from the pasted cells; 1 reading already in the book");
    assert_eq!(late.folder.rows("readings.csv").len(), 1);
    // A command in the advice works from any folder.
    let other = cells.replace(",10,4,", ",12,4,");
    let page = late.sends("/import", &[("paste", &other)]).is(422).body;
    assert!(page.contains("swellbook --book ") && !page.contains("swellbook correct"), "{page}");
}

/// The readings of T1, from a page as it was opened or, without a key, as an earlier program kept
/// them on a phone.
fn readings<'f>(state: &'f str, place: &'f str, block: Option<&'f str>) -> Vec<(&'f str, &'f str)> {
    let of = [("trial", "T1"), ("state", state), ("shown", place)];
    let values = [("spine-1", "11.0"), ("fore-edge-1", "8.0")];
    of.into_iter().chain(block.map(|key| ("block", key))).chain(values).collect()
}

#[test]
fn readings_follow_their_trial_to_its_new_name_and_never_meet_another_one() {
    let late = Late::new();
    let first = seen(&late.served, BLOCK);
    let block = hidden(&first, "block");
    late.runs(&["correct", "trial", "T1", "--name", "A"]);
    assert!(seen(&late.served, BLOCK).contains("Measure A, as sewn"));
    let written = |fields: &[(&str, &str)]| {
        let written = late.sends("/measure", fields).is(303);
        seen(&late.served, written.header("location").expect("an address"))
    };
    let page = written(&readings("sewn", "head", Some(&block)));
    assert!(page.contains("2 readings of A, as sewn, at 1 place, are in the book. T1 is called A"));
    assert!(written(&readings("knocked", "head", None)).contains("T1 is called A now."));
    // The name is in use again.
    late.runs(&trial("T1"));
    assert!(written(&readings("sewn", "tail", Some(&block))).contains("2 readings of A, as sewn"));
    late.runs(&["strike", "trial", "A", "--reason", "cut apart"]);
    let refused = late.sends("/measure", &readings("sewn", "middle", Some(&block))).is(404);
    refused.says("Another trial is called T1 now, and these readings are not written to it.");
    let rows = late.folder.rows("readings.csv");
    assert!(rows.len() == 3 && rows.iter().all(|row| row.starts_with("A,")), "{rows:?}");
    // Nor does what a phone keeps for one get into the form of the other.
    let draft =
        |page: &str| page.split("data-draft=\"").nth(1)?.split('"').next().map(str::to_owned);
    assert_ne!(draft(&seen(&late.served, BLOCK)), draft(&first));
}

#[test]
fn a_page_for_readings_of_a_struck_block_says_so_and_brings_it_back() {
    let late = Late::new();
    let block = hidden(&seen(&late.served, BLOCK), "block");
    late.runs(&["strike", "trial", "T1", "--reason", "cut apart"]);
    let path = format!("{BLOCK}&block={}", block.replace(' ', "+"));
    let says = "T1 was struck: cut apart. To write readings of it, bring it back first.";
    let page = late.served.get(&path).is(422).says(says).body;
    assert!(page.contains("<h1>T1 was struck</h1>") && page.contains("\"/restore?"), "{page}");
    late.sends("/measure", &readings("sewn", "head", Some(&block))).is(404).says(says);
    late.runs(&["restore", "trial", "T1"]);
    late.sends("/measure", &readings("sewn", "head", Some(&block))).is(303);
    late.served.get("/measure?trial=T9").is(404).says("This trial is not in the book.");
}

#[test]
fn readings_that_the_book_has_got_meanwhile_are_neither_asked_about_nor_written_again() {
    let late = Late::new();
    let form = [&readings("sewn", "1", None)[..], &[("seen", "0")]].concat();
    late.folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.1");
    let there = late.sends("/measure", &form).is(303);
    let page = seen(&late.served, there.header("location").expect("an address"));
    assert!(page.contains("These readings were in the book already."), "{page}");
    // Another value, another place, and one place more.
    let cases: [(&str, &[(&str, &str)]); 3] =
        [("1", &[("spine-1", "11.01")]), ("9", &[]), ("1, 9", &[("spine-2", "11.0")])];
    for (place, more) in cases {
        let other = [more, &readings("sewn", place, None), &[("seen", "0")]].concat();
        late.sends("/measure", &other).is(422).says("T1 has changed since you opened it");
    }
    assert_eq!(late.folder.rows("readings.csv").len(), 2);
}

#[test]
fn all_doubts_about_one_value_are_asked_at_once_and_settled_at_once() {
    let late = Late::new();
    let places = ["record", "readings", "T1", "--state", "sewn", "--place", "head,middle"];
    let values = ["--spine", "13.0,13.0", "--fore-edge", "11.0,11.0"];
    late.runs(&[&places[..], &values].concat());
    let fields = [("trial", "T1"), ("state", "knocked"), ("shown", "head")];
    let fields = [&fields[..], &[("spine-1", "14.9"), ("fore-edge-1", "11.0")]].concat();
    let page = late.sends("/measure", &fields).is(422);
    page.says("the leaves make 8.00 mm").says("the swell is 3.90 mm, more than 2.00 mm");
    let kept = [&fields[..], &[("sure-fore-edge-1", "11.0")]].concat();
    late.sends("/measure", &kept).is(303);
    assert!(late.folder.read("readings.csv").contains("T1,knocked,head,14.9,11,"));
}

/// A browser ends the lines of a value with a carriage return too.
#[test]
fn several_doubts_about_the_whole_block_are_settled_with_one_box() {
    let late = Late::new();
    let fields = [("trial", "T1"), ("state", "sewn"), ("shown", "head, middle, tail")];
    let spines = [("spine-1", "13.0"), ("spine-2", "11.0"), ("spine-3", "11.1")];
    let fields = [&fields[..], &spines, &[("sure-spine-2", "11.0")]].concat();
    let page = late.sends("/measure", &fields).is(422).body;
    let asked = hidden(&page, "sure");
    assert_eq!(asked.lines().count(), 2, "{asked}");
    let asked = asked.replace('\n', "\r\n");
    late.sends("/measure", &[&fields[..], &[("sure", &asked)]].concat()).is(303);
    assert_eq!(late.folder.rows("readings.csv").len(), 3);
}
