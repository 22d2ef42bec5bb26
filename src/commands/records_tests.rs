//! Pages that record, strike and correct, on a book on disk.

use super::{Arguments, OsString, Outcome};
use crate::book::{Book, EntryKind, reading_id};
use crate::jobs::correct::page as page_correct;
use crate::jobs::desk::Desk;
use crate::jobs::entries::answer_struck::readings_along;
use crate::jobs::entries::{page_log, page_stock};
use crate::jobs::import;
use crate::jobs::predict::page_kept;
use crate::jobs::record::{page_paper, page_trial};
use crate::jobs::strike::page as page_strike;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::route::Answer;
use crate::page::turned::Turned;
use crate::terminal::session::{Session, Streams, Surroundings};
use crate::trade::SendNumber;
use clap::Parser;
use std::path::Path;
use tempfile::TempDir;

/// A name with characters that are special in a URL, an id or HTML.
const ODD: &str = "a/b\\c & \"d\" <i>";

/// Surroundings in which nobody can be asked.
pub(super) fn surroundings(folder: &Path) -> Surroundings {
    Surroundings {
        folder: folder.to_owned(),
        book: None,
        today: Some("2026-03-01".to_owned()),
        terminal: false,
        bell: false,
        width: 80,
        unicode: true,
    }
}

/// Runs a command, for a page that sent a form with this number.
pub(super) fn outcome(folder: &Path, args: &[&str], number: Option<u128>) -> Outcome {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
    let mut session = Session::new(streams, surroundings(folder), None, true).unwrap();
    session.sending = number.map(SendNumber::from);
    let line = std::iter::once("swellbook").chain(args.iter().copied());
    let outcome = Arguments::try_parse_from(line).unwrap().command.unwrap().run(&mut session);
    session.settled(outcome).map(drop)
}

fn run(folder: &Path, args: &[&str]) {
    outcome(folder, args, None).unwrap_or_else(|error| panic!("{args:?}: {error}"));
}

/// A book with one trial, measured as sewn at two places.
fn book(trial: &str) -> (TempDir, Desk) {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path();
    run(folder, &["init", ".", "--no-input"]);
    run(folder, &["record", "paper", "--paper", "bond", "--caliper", "0.1"]);
    run(folder, &["record", "thread", "--thread", "linen", "--laid", "0.5"]);
    let sewn = ["--sections=10", "--sheets=4", "--paper=bond", "--thread=linen"];
    run(folder, &[&["record", "trial", "--trial", trial][..], &sewn[..]].concat());
    let readings = ["--state=sewn", "--spine=11.1", "--fore-edge=8.2"];
    run(folder, &[&["record", "readings", "--trial", trial][..], &readings[..]].concat());
    run(folder, &[&["record", "readings", "--trial", trial][..], &readings[..]].concat());
    let desk = Desk::new(folder.to_owned(), false, surroundings(folder), "token".to_owned());
    (dir, desk)
}

/// A form with this send number.
fn form(number: u128, fields: &[(&str, &str)]) -> Form {
    let pairs: Vec<(&str, Option<&str>)> = fields.iter().map(|it| (it.0, Some(it.1))).collect();
    let query = address("", &pairs);
    Form::of_query(query.trim_start_matches('?').as_bytes())
        .with("number", format!("{number:032x}"))
}

/// Where a successful form redirects to.
fn led(answer: Result<Answer, Turned>) -> String {
    match answer {
        Ok(Answer::Elsewhere(path)) => path,
        other => panic!("not done: {other:?}"),
    }
}

/// The HTML of a form that was refused and is shown again.
fn refused(answer: Result<Answer, Turned>) -> String {
    match answer {
        Ok(Answer::Page(content)) if content.refused => content.html,
        other => panic!("not refused: {other:?}"),
    }
}

pub(super) fn files(folder: &Path) -> Vec<(OsString, Vec<u8>)> {
    let files = std::fs::read_dir(folder).unwrap().map(Result::unwrap);
    let mut files: Vec<_> =
        files.map(|it| (it.file_name(), std::fs::read(it.path()).unwrap())).collect();
    files.sort();
    files
}

/// The correction form of a trial as it is prefilled, with some fields changed.
fn correction(number: u128, was: &str, changed: &[(&str, &str)]) -> Form {
    let filled = [
        ("was", was),
        ("seen", "0"),
        ("trial", was),
        ("date", "2026-03-01"),
        ("kind", "block"),
        ("paper", "bond"),
        ("thread", "linen"),
        ("sections", "10"),
        ("sheets", "4"),
        ("on", "1"),
        ("reason", "counted wrong"),
    ];
    let kept = filled.iter().filter(|field| !changed.iter().any(|it| it.0 == field.0));
    form(number, &kept.chain(changed).copied().collect::<Vec<_>>())
}

#[test]
fn a_corrected_trial_keeps_its_readings_and_what_was_there_is_struck() {
    let (dir, desk) = book(ODD);
    let before = Book::open(dir.path()).unwrap();
    let sent = correction(1, ODD, &[("sections", "11")]);
    let there = led(page_correct::send(&desk, &sent));
    assert!(there.starts_with(&address("/log", &[("trial", Some(ODD))])), "{there}");

    let after = Book::open(dir.path()).unwrap();
    let [trial] = after.trials() else { panic!("{:?}", after.trials()) };
    assert_eq!((trial.name.as_str(), trial.sewing.sections()), (ODD, 11));
    assert_eq!(after.readings(), before.readings());
    let gone = after.gone();
    assert_eq!((&gone.trials[..], &gone.readings[..]), (before.trials(), before.readings()));
    assert!(after.struck().iter().all(|strike| strike.reason == "counted wrong"));

    // The same form again, as after a second tap.
    assert_eq!(led(page_correct::send(&desk, &sent)), there);
    assert_eq!(Book::open(dir.path()).unwrap().struck(), after.struck());
}

/// The HTML of a page, once its background work is done.
fn seen(show: impl Fn() -> Result<Answer, Turned>) -> String {
    loop {
        match show() {
            Ok(Answer::Page(content)) if !content.refused => return content.html,
            Err(Turned::Working(_)) => {}
            other => panic!("no page: {other:?}"),
        }
    }
}

#[test]
fn a_trial_says_what_was_taken_out_and_its_paper_and_thread_lead_to_it() {
    let (dir, desk) = book(ODD);
    let knocked = ["--state=knocked", "--spine=10.6", "--fore-edge=8.2"];
    run(dir.path(), &[&["record", "readings", "--trial", ODD][..], &knocked[..]].concat());
    let html = seen(|| page_log::show(&desk, &form(1, &[("trial", ODD)])));
    // A spine from 11.1 to 10.6 mm over a fore-edge of 8.2 mm; ten sections of a 0.5 mm thread.
    let words = "Knocking down took out 0.50\u{a0}mm of swell: from 35.4 to 29.3\u{a0}%, 6.1 points; \
                 that is 10\u{a0}% of the thread in the spine.";
    assert!(html.contains(words), "{html}");
    let log = address("/log", &[("trial", Some(ODD))]).replace('&', "&#38;");
    for (kind, name) in [("paper", "bond"), ("thread", "linen")] {
        let stock = seen(|| page_stock::show(&desk, &Form::default()));
        assert!(stock.contains(&format!("<a href=\"/stock?{kind}={name}\">{name}</a>")), "{stock}");
        let html = seen(|| page_stock::show(&desk, &form(1, &[(kind, name)])));
        assert!(html.contains(&log) && html.contains("29.3 %"), "{log}: {html}");
        assert!(!html.contains("<i>"), "{html}");
    }
    let none = page_stock::show(&desk, &form(1, &[("paper", ODD)]));
    assert!(matches!(none, Err(Turned::Missing(_) | Turned::Working(_))), "{none:?}");
}

#[test]
fn a_trial_corrected_to_another_name_takes_its_readings_along() {
    let (dir, desk) = book("T1");
    led(page_correct::send(&desk, &correction(1, "T1", &[("trial", "T9")])));
    let after = Book::open(dir.path()).unwrap();
    assert_eq!(after.trials()[0].name.as_str(), "T9");
    assert_eq!(after.readings().len(), 2);
    assert!(after.readings().iter().all(|reading| reading.trial.as_str() == "T9"));
}

#[test]
fn a_correction_is_done_whole_or_not_at_all() {
    let (dir, desk) = book("T1");
    let before = files(dir.path());
    // Its readings are right for ten sections, not for eighty.
    let html = refused(page_correct::send(&desk, &correction(1, "T1", &[("sections", "80")])));
    assert!(html.contains("is outside"), "{html}");
    // A suspect value has to be confirmed.
    let asked = correction(2, "T1", &[("sections", "3"), ("sheets", "16")]);
    let html = refused(page_correct::send(&desk, &asked));
    assert!(html.contains("64 pages") && html.contains("name=\"sure\""), "{html}");
    let html = refused(page_correct::send(&desk, &correction(3, "T1", &[("reason", "")])));
    assert!(html.contains("reason-error"), "{html}");
    assert_eq!(files(dir.path()), before);
    led(page_correct::send(&desk, &asked.with("sure", "yes")));
}

#[test]
fn a_correction_of_what_was_corrected_meanwhile_is_refused() {
    let (dir, desk) = book("T1");
    led(page_correct::send(&desk, &correction(1, "T1", &[("sections", "11")])));
    let again = correction(2, "T1", &[("sections", "12")]);
    let html = refused(page_correct::send(&desk, &again));
    assert!(html.contains("was corrected or struck meanwhile"), "{html}");
    let after = Book::open(dir.path()).unwrap();
    assert_eq!(after.trials()[0].sewing.sections(), 11);
    // The form shown again has seen the correction.
    assert!(html.contains("name=\"seen\" value=\"1\""), "{html}");
}

#[test]
fn readings_taken_while_a_trial_is_corrected_come_along() {
    let (dir, desk) = book("T1");
    let sent = correction(1, "T1", &[("boned", "yes")]);
    run(
        dir.path(),
        &["record", "readings", "--trial=T1", "--state=knocked", "--spine=10.4", "--fore-edge=8.2"],
    );
    led(page_correct::send(&desk, &sent));
    let after = Book::open(dir.path()).unwrap();
    assert_eq!((after.trials()[0].boned, after.readings().len()), (true, 3));
}

#[test]
fn a_corrected_reading_is_at_its_place_with_the_other_edge_as_it_was() {
    let (dir, desk) = book(ODD);
    let before = Book::open(dir.path()).unwrap();
    let old = &before.readings()[1];
    let id = reading_id(old);
    let typed = [("spine", "11,3"), ("fore-edge", "8.2"), ("reason", "misread"), ("seen", "0")];
    let sent = form(1, &[&[("reading", &*id)][..], &typed[..]].concat());
    led(page_correct::send(&desk, &sent));
    let after = Book::open(dir.path()).unwrap();
    let new = after.readings().iter().find(|reading| reading_id(reading) == id).unwrap();
    let mm = |reading: &crate::trade::Reading| {
        [reading.spine(), reading.fore_edge()].map(|edge| edge.unwrap().mm())
    };
    assert_eq!((mm(new), &new.taken), ([11.3, 8.2], &old.taken));
    assert_eq!(after.gone().readings, std::slice::from_ref(old));
    // An impossible value is reported at its field.
    let typed = [("spine", "113"), ("fore-edge", "8.2"), ("reason", "misread"), ("seen", "1")];
    let sent = form(2, &[&[("reading", &*id)][..], &typed[..]].concat());
    let html = refused(page_correct::send(&desk, &sent));
    assert!(html.contains("id=\"spine-error\""), "{html}");
}

#[test]
fn what_is_struck_on_the_page_is_what_was_shown_there() {
    let (dir, desk) = book(ODD);
    let book = Book::open(dir.path()).unwrap();
    let id = reading_id(&book.readings()[0]);
    let of = [("kind", "reading"), ("ids", &*id), ("trial", ODD)];
    let html = refused(page_strike::send(&desk, &form(1, &of)));
    assert!(html.contains("reason-error") && !html.contains("<i>"), "{html}");
    let with_reason = [&of[..], &[("reason", "not zeroed")][..]].concat();
    led(page_strike::send(&desk, &form(2, &with_reason)));
    let after = Book::open(dir.path()).unwrap();
    assert_eq!(after.readings(), &book.readings()[1..]);
    assert_eq!(after.times_struck(EntryKind::Reading, &id), 1);
}

#[test]
fn a_trial_leads_on_to_its_readings_and_a_paper_is_measured_as_a_stack() {
    let (_dir, desk) = book("T1");
    let paper = [("paper", ODD), ("stack", "10"), ("reading", ""), ("hardness", "soft")];
    let html = refused(page_paper::send(&desk, &form(1, &paper)));
    assert!(html.contains("id=\"reading-error\"") && !html.contains("<i>"), "{html}");
    let paper = [("paper", ODD), ("stack", "10"), ("reading", "1.2"), ("hardness", "soft")];
    led(page_paper::send(&desk, &form(2, &paper)));
    let trial =
        [("trial", ODD), ("paper", ODD), ("thread", "linen"), ("sections", "8"), ("sheets", "4")];
    let there = led(page_trial::send(&desk, &form(3, &trial)));
    let measure = address("/measure", &[("trial", Some(ODD)), ("state", Some("sewn"))]);
    assert!(there.starts_with(&measure), "{there}");
    let Answer::Page(content) = page_trial::show(&desk, &Form::default()).unwrap() else {
        panic!()
    };
    assert!(content.title.ends_with(": T2"), "{}", content.title);
}

#[test]
fn a_new_trial_is_offered_the_next_name_that_is_free() {
    let longest = "x".repeat(79) + "9";
    for (last, next) in [("B09", "B10"), ("T1", "T2"), ("roof", "T1"), (&longest, "T1")] {
        let (_dir, desk) = book(last);
        let html = seen(|| page_trial::show(&desk, &Form::default()));
        assert!(html.contains(&format!("value=\"{next}\"")), "{last}: {html}");
    }
}

#[test]
fn what_was_struck_stays_in_the_log_with_its_reason() {
    let (dir, desk) = book(ODD);
    let of = form(0, &[("trial", ODD)]);
    let html = seen(|| page_log::show(&desk, &of));
    assert!(html.contains("11.10") && !html.contains("<i>"), "{html}");
    led(page_correct::send(&desk, &correction(1, ODD, &[("sections", "11")])));
    let html = seen(|| page_log::show(&desk, &of));
    // Its readings went with it and count again, so only the trial itself is struck.
    assert!(html.contains("10 sections") && html.contains("Struck: 1"), "{html}");
    assert!(html.contains("counted wrong"), "{html}");
    let along = readings_along(&Book::open(dir.path()).unwrap(), &[ODD.to_owned()]);
    let whole = [("kind", "trial"), ("ids", ODD), ("trial", ODD), ("reason", "the wrong thread")];
    let whole: Vec<(&str, &str)> =
        whole.into_iter().chain(along.iter().map(|it| ("along", it.as_str()))).collect();
    led(page_strike::send(&desk, &form(2, &whole)));
    let html = seen(|| page_log::show(&desk, &of));
    assert!(html.contains("None of its readings count"), "{html}");
    assert!(html.contains("the wrong thread"), "{html}");
    let html = seen(|| page_log::show(&desk, &Form::default()));
    assert!(html.contains("Struck trials: 2") && !html.contains("<i>"), "{html}");
    let html = seen(|| page_stock::show(&desk, &Form::default()));
    assert!(html.contains("bond") && html.contains("linen"), "{html}");
}

#[test]
fn the_log_is_searched_by_name_paper_and_thread() {
    let (_dir, desk) = book("T1");
    for (words, is_found) in [("t1", true), ("BON", true), ("lin", true), ("vellum", false)] {
        let html = seen(|| page_log::show(&desk, &form(0, &[("words", words)])));
        assert_eq!(html.contains("href=\"/log?trial=T1\""), is_found, "{words}: {html}");
    }
}

#[test]
fn a_forecast_is_struck_from_where_it_was_kept() {
    let (dir, desk) = book("T1");
    let plan = ["--paper=bond", "--thread=linen", "--sections=20", "--sheets=4", "--keep", ODD];
    run(dir.path(), &[&["predict"][..], &plan].concat());
    let html = seen(|| page_kept::show(&desk, &form(0, &[("name", ODD)])));
    let strike = html.split("href=\"").find(|it| it.starts_with("/strike?")).expect("a way");
    let query = strike.split_once('?').unwrap().1.split('"').next().unwrap().replace("&#38;", "&");
    let form = Form::of_query(query.as_bytes()).with("number", format!("{:032x}", 1));
    seen(|| page_strike::show(&desk, &form));
    let form = form.with("reason", "another book".to_owned());
    assert!(led(page_strike::send(&desk, &form)).starts_with("/plan?said="));
    assert!(Book::open(dir.path()).unwrap().forecasts().is_empty());
}

#[test]
fn headings_that_the_import_page_asks_about_are_kept_with_the_rows() {
    let (dir, desk) = book("T1");
    let sheet = ("paste", "\n\ntrial,state,Dos <i>,Vorn\nT1,knocked,10.5,8.2\n");
    let asked = seen(|| import::page::send(&desk, &form(1, &[sheet])));
    assert!(asked.contains("name=\"heading\" value=\"Dos &#60;i&#62;\""), "{asked}");
    // Row numbers count leading empty rows, so these rows are kept.
    assert!(asked.contains(">\n\n\ntrial,state"), "{asked}");
    let typed = [
        sheet,
        ("heading", "Dos <i>"),
        ("column", "spine_mm"),
        ("heading", "Vorn"),
        ("column", "fore_edge_mm"),
    ];
    let ready = seen(|| import::page::send(&desk, &form(2, &typed)));
    assert!(ready.contains("would be kept: &#39;Dos"), "{ready}");
    assert!(ready.contains("name=\"column\" value=\"spine_mm\""), "{ready}");
    let add = form(3, &[&typed[..], &[("add", "yes")]].concat());
    led(import::page::send(&desk, &add));
    let kept = std::fs::read_to_string(dir.path().join("headings.csv")).unwrap();
    assert_eq!(kept, "heading,column\nDos <i>,spine_mm\nVorn,fore_edge_mm\n");
    led(import::page::send(&desk, &add));
    let book = Book::open(dir.path()).unwrap();
    assert_eq!((book.readings().len(), book.headings().len()), (3, 2));
}
