//! Charts as files: whole or not at all, the same every time, and up to date on the pages.

use crate::support::folder::{Folder, Run, words};
use crate::support::repository;
use std::collections::BTreeSet;
use std::path::Path;
use swellbook::commands::command_line;

/// Charts of the tour's book with flags. Charts that need none are found by the test.
const WITH_FLAGS: [&[&str]; 4] = [
    &["knockdown", "--percent"],
    &["plan", "--paper", "Alder bond", "--leaves", "192", "--target", "rounded-backed"],
    &["swell", "--paper", "Alder bond", "--target", "rounded-backed"],
    &["swell", "--paper", "a new one", "--caliper", "0.1mm", "--hardness", "hard", "--boned"],
];

fn kinds_that(are_meant: impl Fn(&clap::Command) -> bool) -> BTreeSet<String> {
    let line = command_line();
    let chart = line.find_subcommand("chart").expect("a command");
    let kinds = chart.get_subcommands().filter(|kind| are_meant(kind));
    kinds.map(|kind| kind.get_name().to_owned()).collect()
}

fn kinds() -> BTreeSet<String> {
    kinds_that(|_| true)
}

/// The kinds of charts that do not ask about a planned book.
pub fn plain_kinds() -> BTreeSet<String> {
    kinds_that(|kind| kind.get_arguments().all(|it| it.get_id() != "paper"))
}

fn drawn(folder: &Folder, chart: &[&str], out: &str) -> Run {
    folder.on_tour(&[&["chart"], chart, &["--out", out]].concat())
}

fn bytes(folder: &Folder, name: &str) -> Vec<u8> {
    std::fs::read(folder.path().join(name)).expect(name)
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let name = |entry: std::io::Result<std::fs::DirEntry>| {
        entry.expect("an entry").file_name().to_string_lossy().into_owned()
    };
    let mut names: Vec<String> = entries.map(name).collect();
    names.sort();
    names
}

#[test]
fn every_chart_is_a_picture_of_its_kind_and_the_same_every_time() {
    let folder = Folder::toured();
    let book = names(&folder.path().join("tour"));
    let plain = plain_kinds();
    let plain = plain.iter().map(|kind| vec![kind.as_str()]);
    let charts: Vec<Vec<&str>> = plain.chain(WITH_FLAGS.map(<[_]>::to_vec)).collect();
    assert_eq!(charts.iter().map(|chart| chart[0].to_owned()).collect::<BTreeSet<_>>(), kinds());
    for chart in &charts {
        let run = drawn(&folder, chart, "a.svg").ends(0);
        assert!(run.out.starts_with("drew ") && run.out.contains("a.svg"), "{}", run.out);
        assert!(run.err.trim_end().ends_with('.'), "a caption in words: {}", run.err);
        let svg = bytes(&folder, "a.svg");
        assert!(svg.starts_with(b"<svg") && svg.ends_with(b"</svg>\n"), "{chart:?}");
        let printed = drawn(&folder, chart, "-").ends(0);
        assert_eq!(printed.out.as_bytes(), svg, "{chart:?} on standard output");
        drawn(&folder, chart, "a.PNG").ends(0);
        let png = bytes(&folder, "a.PNG");
        assert!(png.starts_with(b"\x89PNG\r\n\x1a\n") && png.ends_with(b"IEND\xaeB`\x82"));
        drawn(&folder, chart, "b.png").ends(0);
        assert_eq!(bytes(&folder, "b.png"), png, "{chart:?} drawn again");
    }
    assert_eq!(names(folder.path()), ["a.PNG", "a.svg", "b.png", "tour"]);
    assert_eq!(names(&folder.path().join("tour")), book);
}

#[test]
fn a_picture_that_is_there_is_replaced_whole() {
    let folder = Folder::toured();
    drawn(&folder, &["factors"], "a.svg").ends(0);
    let first = folder.read("a.svg");
    folder.write("a.svg", first.clone() + &"x".repeat(1_000_000));
    drawn(&folder, &["factors"], "a.svg").ends(0);
    assert_eq!(folder.read("a.svg"), first);
}

#[test]
fn an_ending_that_is_no_picture_is_refused_before_anything_is_done() {
    let folder = Folder::toured();
    for out in ["a.pdf", "a", ".svg", "svg", "a.svg.gz"] {
        drawn(&folder, &["factors"], out).ends(3).complains_of(&["--out", ".svg", ".png"]);
    }
    assert_eq!(names(folder.path()), ["tour"]);
}

#[test]
fn a_place_that_cannot_be_written_leaves_nothing_behind() {
    let folder = Folder::toured();
    let before = folder.bytes();
    drawn(&folder, &["factors"], "nowhere/a.svg").ends(1).complains_of(&["nowhere/a.svg"]);
    std::fs::create_dir(folder.path().join("a.svg")).expect("a folder");
    drawn(&folder, &["factors"], "a.svg").ends(1).complains_of(&["a.svg", "cannot be written"]);
    assert_eq!(names(folder.path()), ["a.svg", "tour"]);
    assert!(names(&folder.path().join("a.svg")).is_empty());
    assert_eq!(folder.bytes(), before);
}

#[test]
fn flags_belong_to_the_chart_that_has_a_use_for_them() {
    let folder = Folder::toured();
    drawn(&folder, &["factors", "--percent"], "a.svg").ends(2).complains_of(&["--percent"]);
    drawn(&folder, &["plan"], "a.svg").ends(2).complains_of(&["--paper", "--leaves", "--target"]);
    folder.on_tour(&["chart", "history"]).ends(2).complains_of(&["--out"]);
    drawn(&folder, &["pie"], "a.svg").ends(2).complains_of(&["'pie'"]);
    let unknown = ["plan", "--paper", "Aldr bond", "--leaves", "192", "--target", "flat"];
    drawn(&folder, &unknown, "a.svg").ends(3).complains_of(&["--caliper"]);
    drawn(&folder, &["swell"], "a.svg").ends(2).complains_of(&["--paper"]);
    let swell = |flag, value| ["swell", "--paper", "Alder bond", flag, value];
    for (flag, value) in [("--thread", "flx 25/3"), ("--sheets", "0"), ("--target", "35..25")] {
        drawn(&folder, &swell(flag, value), "a.svg").ends(3).complains_of(&[flag]);
    }
    drawn(&folder, &swell("--state", "unsewn"), "a.svg").ends(3).complains_of(&["unsewn"]);
    assert_eq!(names(folder.path()), ["tour"]);
}

#[test]
fn too_few_trials_for_a_comparison_say_what_to_do_and_other_charts_are_drawn() {
    let folder = Folder::with_trial();
    let chart = |kind: &str| folder.run(&["chart", kind, "--out", &format!("{kind}.svg")]);
    for kind in ["agreement", "residuals"] {
        chart(kind).ends(4).complains_of(&["at least 3 trials", "sew and record more"]);
    }
    let swell = ["chart", "swell", "--paper", "bond 80", "--out", "-"];
    let swell = folder.run(&swell).ends(0);
    assert!(swell.err.contains("based on common practice only"), "{}", swell.err);
    for (kind, sentence) in [
        ("knockdown", "No block has been measured"),
        ("factors", "No trials yet"),
        ("history", "No sewing with a date"),
    ] {
        assert!(chart(kind).ends(0).err.contains(sentence), "{kind}");
        assert!(folder.read(&format!("{kind}.svg")).contains(sentence), "{kind}");
    }
    assert!(!folder.path().join("agreement.svg").exists());
    let empty = Folder::with_book();
    let run = empty.run(&["chart", "factors", "--out", "-"]).ends(0);
    assert!(run.out.contains("<desc>The book holds no paper yet.</desc>"), "{}", run.out);
}

/// The number of crosses, which mark struck sewings in a colour of their own.
fn crosses(svg: &str) -> usize {
    svg.lines().filter(|line| line.contains("polyline") && line.contains("#A8301C")).count() / 2
}

#[test]
fn a_struck_sewing_stays_in_the_picture_as_struck() {
    let folder = Folder::toured();
    let picture = || drawn(&folder, &["history"], "-").ends(0);
    assert_eq!(crosses(&picture().out), 0);
    let strike = ["--book", "tour", "strike", "trial", "B05", "--reason", "another thread"];
    folder.run(&strike).ends(0);
    let struck = picture();
    // One in the plot and one in its legend.
    assert_eq!(crosses(&struck.out), 2);
    assert!(struck.err.contains("is not used") && struck.err.contains("13 sewings"));
    let other = |kind: &str| drawn(&folder, &[kind], "-").ends(0);
    assert_eq!((crosses(&other("knockdown").out), crosses(&other("factors").out)), (0, 0));
}

#[test]
fn only_a_struck_sewing_is_drawn_as_struck() {
    let folder = Folder::toured();
    let run = |args: &[&str]| drop(folder.on_tour(args).ends(0));
    let picture = || drawn(&folder, &["history"], "-").ends(0).out;
    let before = picture();
    for [there, back] in [
        ["--date=2016-02-17", "--date=2026-02-17"],
        ["--hand=Anna", "--hand="],
        ["--name=other", "--name=B14"],
    ] {
        let (name, now) = ("B14", if there == "--name=other" { "other" } else { "B14" });
        run(&["correct", "trial", name, there]);
        assert_eq!(crosses(&picture()), 0, "{there}");
        run(&["correct", "trial", now, back]);
    }
    run(&["strike", "trial", "B05", "--reason", "another thread"]);
    run(&["restore", "trial", "B05"]);
    assert_eq!(picture(), before);
    // A struck sewing is found under the present name of its paper, as it last was.
    run(&["correct", "trial", "B05", "--note", "too loose"]);
    run(&["strike", "trial", "B05", "--reason", "another thread"]);
    run(&["correct", "paper", "Alder bond", "--name", "Alder"]);
    assert_eq!(crosses(&picture()), 2);
    run(&["undo"]);
    run(&["undo"]);
    assert_eq!(crosses(&picture()), 0);
}

/// Another trial for the book of the tour.
const W1: &str =
    "record trial W1 --paper 'Alder bond' --thread 'flax 25/3' --sections 8 --sheets 4";

/// A sewing struck without a fault is among the others, and one with a slip is far off.
#[test]
fn a_struck_sewing_lies_where_the_others_lead_one_to_expect() {
    use std::collections::BTreeSet;
    use swellbook::book::Book;
    use swellbook::jobs::chart::answer_history::history_view;
    use swellbook::jobs::fitted::Bench;
    let folder = Folder::toured();
    let run = |args: &[&str]| folder.on_tour(args).ends(0);
    run(&["strike", "trial", "B05", "--reason", "none"]);
    run(&words(W1));
    run(&words("record readings W1 --state sewn --spine 14.1,14.2 --fore-edge 7.0,7.0"));
    run(&["strike", "trial", "W1", "--reason", "measured with the boards on"]);
    let book = Book::open(&folder.path().join("tour")).expect("a book");
    let bench = Bench::of(&book).expect("a fit");
    let view = history_view(&book, &bench).expect("a view");
    let [hand] = &view.hands[..] else { panic!("one hand: {view:?}") };
    let names: BTreeSet<&str> = hand.struck.iter().map(|point| point.trial.as_str()).collect();
    assert_eq!(names, BTreeSet::from(["B05", "W1"]));
    assert!(hand.history.points.iter().all(|point| !names.contains(point.trial.as_str())));
    for point in &hand.struck {
        let far = point.standardised.abs();
        assert!(if point.trial.as_str() == "B05" { far < 3.0 } else { far > 10.0 }, "{point:?}");
    }
}

/// The lines of the chart and the answer of `predict` come from one calculation. They agree to the
/// last digits that a file keeps.
#[test]
fn a_swell_is_what_predict_says_and_its_dots_are_the_trials_of_the_paper() {
    use swellbook::book::Book;
    use swellbook::jobs::chart::answer_swell::{SwellQuestion, swell_view};
    use swellbook::jobs::fitted::Bench;
    use swellbook::trade::State;
    const SAME: f64 = 1e-9;
    let folder = Folder::toured();
    let book = Book::open(&folder.path().join("tour")).expect("a book");
    let bench = Bench::of(&book).expect("a fit");
    let paper = bench.paper(&"Alder bond".parse().expect("a name")).expect("a paper");
    let threads = ["flax 18/3", "flax 25/3"]
        .map(|name| bench.thread(&name.parse().expect("a name")).expect("a thread"));
    let asked = SwellQuestion {
        paper,
        threads: threads.into(),
        state: State::Knocked,
        sheets: None,
        boned: false,
        hand: None,
        target: None,
    };
    let view = swell_view(&bench, &asked).expect("a view");
    assert_eq!(view.sheets, 4, "as most trials of the paper have");
    let names: Vec<&str> = view.threads.iter().map(|curve| curve.thread.as_str()).collect();
    assert_eq!(names, ["flax 25/3", "flax 18/3"], "the finest first");
    let dots: Vec<(&str, bool)> =
        view.threads[0].trials.iter().map(|it| (it.trial.as_str(), it.is_alike)).collect();
    assert_eq!(dots, [("B01", true), ("B02", true), ("B04", false), ("B14", true)]);
    for curve in &view.threads {
        for point in curve.points.iter().filter(|point| point.sections % 12 == 0) {
            let sections = point.sections.to_string();
            let thread = ["--thread", &curve.thread, "--sections", &sections, "--sheets", "4"];
            let said = [&["predict", "--paper", "Alder bond", "--json"], &thread[..]].concat();
            let json = folder.on_tour(&said).json();
            let percent = point.percent;
            for (key, own) in [("q05", percent.q05), ("q50", percent.q50), ("q95", percent.q95)] {
                let predicted = json["swell_percent"][key].as_f64().expect("a number");
                assert!((own - predicted).abs() < SAME, "{sections} {key}: {own} {predicted}");
            }
        }
    }
}

#[test]
fn a_trial_that_does_not_fit_is_named_by_its_residual() {
    let folder = Folder::toured();
    let run = |args: &[&str]| folder.on_tour(args).ends(0);
    let calm = drawn(&folder, &["residuals"], "-").ends(0);
    let said = |run: &Run| run.err.replace('\n', " ");
    assert!(said(&calm).contains("No trial is far enough out"), "{}", calm.err);
    run(&words(W1));
    run(&words("record readings W1 --state sewn --spine 14.1,14.2 --fore-edge 7.0,7.0"));
    let chart = drawn(&folder, &["residuals"], "-").ends(0);
    assert!(chart.out.contains("<title>W1 is far from what the others predict</title>"));
    assert!(chart.out.contains("\nW1, as sewn\n"), "the largest is named in the picture");
    for words in ["The largest is W1, as sewn", "more swell than predicted", "beyond the edge"] {
        assert!(said(&chart).contains(words), "{words}: {}", chart.err);
    }
}

#[test]
fn the_pictures_of_the_pages_are_those_of_the_tour() {
    let write = std::env::var_os("SWELLBOOK_TEXTS").is_some_and(|value| value == "write");
    let folder = Folder::toured();
    for kind in kinds() {
        let drawn = folder.read(&format!("tour/{kind}.svg"));
        let kept = repository(&format!("docs/pictures/{kind}.svg"));
        if write {
            std::fs::create_dir_all(repository("docs/pictures")).expect("a folder");
            std::fs::write(kept, drawn).expect("the picture can be written");
            continue;
        }
        let kept = std::fs::read_to_string(&kept).unwrap_or_default();
        assert!(kept == drawn, "docs/pictures/{kind}.svg is not what the tour draws");
    }
}

#[test]
fn every_picture_of_a_page_is_there_and_described() {
    let mut seen = 0;
    for page in crate::pages::texts::pages() {
        let text = crate::pages::texts::text_of(&page);
        for picture in text.split("![").skip(1) {
            let (words, rest) = picture.split_once("](").expect("a picture has a place");
            let (place, _) = rest.split_once(')').expect("a place ends");
            let file = page.parent().expect("a folder").join(place);
            assert!(file.is_file(), "{} shows {place}", page.display());
            assert!(words.len() >= 40, "{}: {place} is described as {words:?}", page.display());
            seen += 1;
        }
    }
    assert!(seen >= 8, "only {seen} pictures were found");
}

/// The font of a PNG has Latin and Greek letters. Others are boxes, and a note names their words;
/// an SVG is set in the viewer's own font.
#[test]
fn a_png_that_lacks_letters_names_the_words() {
    let folder = Folder::toured();
    let paper = ["record", "paper", "Бумага 紙", "--caliper", "0.1mm", "--hardness", "hard"];
    assert!(!drawn(&folder, &["factors"], "before.png").ends(0).err.contains("lacks"));
    folder.run(&[&["--book", "tour"], &paper[..]].concat()).ends(0);
    let note = "note: the PNG lacks letters for 'Бумага', '紙'; write it as .svg to show them";
    let said = drawn(&folder, &["factors"], "a.png").ends(0).err;
    assert!(said.contains(note), "{said}");
    let said = drawn(&folder, &["factors"], "a.svg").ends(0).err;
    assert!(!said.contains("lacks"), "{said}");
    assert!(folder.read("a.svg").contains("Бумага 紙"));
}

/// Papers that lose the same amount have no least and no most, and a range that is in no sentence
/// is not explained.
#[test]
fn a_knockdown_caption_says_only_what_the_chart_shows() {
    let folder = Folder::with_trial();
    let readings = ["record", "readings", "T1", "--state", "sewn", "--spine", "11.0,11.1"];
    folder.run(&[&readings[..], &["--fore-edge", "8.3,8.3"]].concat()).ends(0);
    let said = folder.run(&["chart", "knockdown", "--out", "a.svg"]).ends(0).err;
    assert!(said.contains("No block has been measured after knocking down yet."), "{said}");
    assert!(!said.contains("In brackets"), "{said}");
}
