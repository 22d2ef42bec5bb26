//! A plan beyond the trials is reported, with the trial block that closes the gap.

use crate::support::folder::{Folder, Run};
use crate::support::random_books::{Random, Size, any_sewing, entries, name, on_disk};
use serde_json::{Value, json};
use swellbook::book::{Config, Entries};
use swellbook::jobs::forecast::answer_beyond::{ClosingBlock, Gap};
use swellbook::jobs::forecast::answer_tried::Tried;
use swellbook::model::{Plan, PlannedPaper, PlannedThread, Run as Sections};
use swellbook::observe::observe;
use swellbook::trade::{Hardness, Sewing, State};

const STATES: [State; 4] = [State::Sewn, State::Pressed, State::Knocked, State::KnockedPressed];

fn paper(caliper_mm: f64, hardness: Hardness) -> PlannedPaper {
    PlannedPaper { name: name(&format!("paper {caliper_mm}")), level: None, caliper_mm, hardness }
}

fn thread(diameter_mm: f64) -> PlannedThread {
    PlannedThread { name: name(&format!("cord {diameter_mm}")), level: None, diameter_mm }
}

/// A run of sections of a medium paper.
fn sections(count: u16, sheets: u16, on: u8) -> Sections {
    Sections {
        paper: paper(0.1, Hardness::Medium),
        thread: thread(0.5),
        sewing: Sewing::new(count, sheets, on, 0).expect("a sewing"),
        boned: false,
    }
}

fn plan(run: Sections) -> Plan {
    Plan::new(vec![run], State::Knocked).expect("a plan")
}

/// What these blocks have tried, knocked down.
fn tried(blocks: impl IntoIterator<Item = Sections>) -> Tried {
    blocks.into_iter().fold(Tried::default(), |tried, block| tried.and(&plan(block)))
}

fn tried_in(entries: Entries) -> Tried {
    let (_dir, book) = on_disk(&Config::default(), entries);
    Tried::of(&observe(&book).expect("a made-up book"))
}

/// The gaps of a plan by their names.
fn gaps(tried: &Tried, planned: &Plan) -> Vec<&'static str> {
    tried.beyond(planned).gaps.iter().map(Gap::name).collect()
}

/// The advised block, sewn like the plan's run where the block says nothing else.
fn sewn(block: &ClosingBlock, of: &Plan, most: bool) -> Plan {
    let run = of
        .runs()
        .iter()
        .find(|run| {
            block.thread.as_ref().is_none_or(|thread| *thread == run.thread.name)
                && block.paper.as_ref().is_none_or(|paper| *paper == run.paper.name)
                && block.sheets.is_none_or(|sheets| sheets == run.sewing.sheets())
                && block.on.is_none_or(|on| on == run.sewing.on())
                && block.boned.is_none_or(|boned| boned == run.boned)
        })
        .expect("the block is of one of the runs");
    let count = block.sections.map_or(10, |(least, highest)| if most { highest } else { least });
    let count = u16::try_from(count).expect("a number of sections");
    let sewing = Sewing::new(count, run.sewing.sheets(), run.sewing.on(), 0).expect("a sewing");
    let run = Sections { sewing, ..run.clone() };
    Plan::new(vec![run], block.state.unwrap_or(State::Knocked)).expect("a block")
}

#[test]
fn each_kind_of_gap_is_found_at_its_limit_and_not_before() {
    let known = tried([sections(8, 4, 1), sections(10, 4, 1)]);
    let inside = |run: Sections| gaps(&known, &plan(run));
    assert_eq!(inside(sections(20, 4, 1)), Vec::<&str>::new());
    assert_eq!(inside(sections(21, 4, 1)), ["sections"]);
    assert_eq!(inside(sections(4, 4, 1)), Vec::<&str>::new());
    assert_eq!(inside(sections(3, 4, 1)), ["sections"]);
    assert_eq!(inside(sections(10, 6, 1)), Vec::<&str>::new());
    assert_eq!(inside(sections(10, 7, 1)), ["depth"]);
    assert_eq!(inside(sections(10, 3, 1)), Vec::<&str>::new());
    assert_eq!(inside(sections(10, 2, 1)), ["depth"]);
    assert_eq!(inside(sections(10, 4, 2)), ["sewing"]);
    let run = sections(10, 4, 1);
    assert_eq!(inside(Sections { thread: thread(0.6), ..run.clone() }), ["thread"]);
    let soft = Sections { paper: paper(0.1, Hardness::Soft), ..run.clone() };
    assert_eq!(inside(soft), ["hardness"]);
    assert_eq!(inside(Sections { boned: true, ..run.clone() }), ["boned"]);
    let pressed = Plan::new(vec![run], State::KnockedPressed).expect("a plan");
    assert_eq!(gaps(&known, &pressed), ["state"]);
    // Two-on is between all along and three-on.
    let both = tried([sections(10, 4, 1), sections(10, 4, 3)]);
    assert_eq!(gaps(&both, &plan(sections(10, 4, 2))), Vec::<&str>::new());
}

#[test]
fn the_sections_of_a_mixed_book_count_together() {
    let known = tried([sections(10, 4, 1)]);
    let runs = vec![sections(11, 4, 1), sections(10, 4, 1)];
    let mixed = Plan::new(runs, State::Knocked).expect("a plan");
    let found = known.beyond(&mixed);
    assert_eq!(found.gaps, [Gap::Sections { planned: 21, sewn: (10, 10) }]);
    assert_eq!(found.closing[0].sections, Some((11, 13)));
}

/// A plan of one run needs one block, and any plan needs at most one for each run.
#[test]
fn the_blocks_advised_close_every_gap() {
    let mut closed = 0;
    let books = [0, 1, 2, 3, 4].map(|seed| tried_in(entries(seed, Size::ANY)));
    for seed in 0..300 {
        let random = &mut Random::new(seed);
        let known = random.pick(&books).clone();
        let run = |random: &mut Random| {
            let sewing = any_sewing(random);
            let count = random.whole(1, 80);
            Sections {
                paper: paper(
                    random.between(0.05, 0.3),
                    *random.pick(&[Hardness::Hard, Hardness::Medium, Hardness::Soft]),
                ),
                thread: thread(random.between(0.3, 0.9)),
                sewing: Sewing::new(count, sewing.sheets(), sewing.on(), 0).expect("a sewing"),
                boned: random.chance(0.5),
            }
        };
        let runs: Vec<Sections> = (0..random.whole(1, 2)).map(|_| run(random)).collect();
        let planned = Plan::new(runs, *random.pick(&STATES)).expect("a plan");
        let found = known.beyond(&planned);
        assert!(found.closing.len() <= planned.runs().len(), "{found:?}");
        assert_eq!(found.gaps.is_empty(), found.closing.is_empty(), "{found:?}");
        for most in [false, true] {
            let blocks = found.closing.iter().map(|block| sewn(block, &planned, most));
            let after = blocks.fold(known.clone(), |known, block| known.and(&block));
            assert_eq!(after.beyond(&planned).gaps, [], "{seed}: {found:?}");
        }
        closed += found.gaps.len();
    }
    assert!(closed > 300, "{closed}");
}

/// By hand: 18 leaves of 0.3 mm, a tenth looser than their caliper, and a thread of 0.5 mm are
/// 6.44 mm for each section. A reading is at most 400 mm.
#[test]
fn the_block_advised_is_never_too_thick_to_be_recorded() {
    let known = tried([sections(10, 4, 1)]);
    let run = Sections { paper: paper(0.3, Hardness::Medium), ..sections(130, 9, 1) };
    assert_eq!(known.beyond(&plan(run)).closing[0].sections, Some((62, 62)));
    assert_eq!(known.beyond(&plan(sections(130, 9, 1))).closing[0].sections, Some((65, 78)));
}

#[test]
fn without_a_trial_with_thread_nothing_is_beyond_the_trials() {
    let far = plan(sections(80, 8, 3));
    assert_eq!(Tried::default().beyond(&far).gaps, []);
    let mut made = entries(3, Size { trials: (4, 4), ..Size::ANY });
    made.readings.retain(|reading| reading.state == State::Unsewn);
    for made in [made, Entries::default()] {
        assert_eq!(tried_in(made).beyond(&far).gaps, []);
    }
}

fn on(folder: &Folder, args: &[&str]) -> Run {
    folder.on_tour(args).ends(0)
}

const STOCK: [&str; 6] = ["--paper", "Alder bond", "--thread", "flax 25/3", "--sheets", "4"];
const SAID: &str = "This book goes beyond your trials: ";

fn joined(run: Run) -> String {
    run.out.replace('\n', " ")
}

#[test]
fn predict_midway_and_the_card_name_a_gap_in_the_same_words() {
    let folder = Folder::toured();
    let long = [&STOCK[..], &["--sections", "80"]].concat();
    let near = [&STOCK[..], &["--sections", "16"]].concat();
    let text = joined(on(&folder, &[&["predict"], &long[..]].concat()));
    let sentence = text.split(SAID).nth(1).expect("the sentence").split("  ").next();
    let sentence = sentence.expect("its end");
    assert!(sentence.starts_with("80 sections (your longest trial block has "), "{sentence}");
    assert!(sentence.contains("To find out, sew one trial block of 40 to 48 sections."));
    let card = joined(on(&folder, &[&["report", "--out", "-"], &long[..]].concat()));
    assert!(card.replace("\u{a0}", " ").contains(SAID), "{card}");
    let part = ["--sewn", "8", "--spine", "9.6,9.66", "--fore-edge", "6.86,6.9"];
    let midway = joined(on(&folder, &[&["midway"], &long[..], &part].concat()));
    assert!(midway.contains(SAID) && midway.contains("measure again when 40 sections are sewn."));
    for args in [[&["predict"], &near[..]].concat(), [&["midway"], &near[..], &part].concat()] {
        assert!(!joined(on(&folder, &args)).contains("beyond your trials"));
    }
}

#[test]
fn json_lists_the_gaps_and_none_inside_the_trials() {
    let folder = Folder::toured();
    let far = ["--sections", "80", "--on", "3", "--state", "pressed", "--json"];
    let far = on(&folder, &[&["predict"], &STOCK[..], &far].concat()).json();
    let what: Vec<&Value> =
        far["beyond"].as_array().expect("a list").iter().map(|gap| &gap["what"]).collect();
    assert_eq!(what, ["sections", "state", "sewing"]);
    let (gap, block) = (&far["beyond"][0], &far["closing_blocks"][0]);
    assert_eq!((&gap["planned"], &gap["sewn_from"]), (&json!(80.0), &json!(6.0)));
    assert_eq!((&block["sections_from"], &block["on"]), (&json!(40), &json!(3)));
    assert_eq!((&block["state"], &block["thread"]), (&json!("pressed"), &Value::Null));
    let near = ["--sections", "16", "--json"];
    let near = on(&folder, &[&["predict"], &STOCK[..], &near].concat()).json();
    assert_eq!((&near["beyond"], &near["closing_blocks"]), (&json!([]), &json!([])));
}

#[test]
fn plan_names_the_rows_beyond_the_trials_and_is_silent_if_there_are_none() {
    let folder = Folder::toured();
    let asked = ["plan", "--paper", "Alder bond", "--leaves", "480", "--target", "rounded-backed"];
    let text = joined(on(&folder, &[&asked[..], &["--sheets", "2..3", "--top", "3"]].concat()));
    assert!(
        text.contains("Beyond your trials: over twice the sections of your longest trial block")
    );
    assert!(text.contains("(every row)") && text.contains("To find out about row 1, sew one"));
    let all = on(&folder, &[&asked[..], &["--all", "--json"]].concat()).json();
    let choices = all["choices"].as_array().expect("a list");
    let threefold = |on: u64| {
        let rows = choices.iter().filter(|row| row["on"] == on);
        rows.filter(|row| {
            let gaps = row["beyond"].as_array().expect("a list");
            gaps.iter().any(|gap| gap["what"] == "sewing")
        })
        .count()
    };
    assert_eq!((threefold(1), threefold(2), threefold(3)), (0, 0, choices.len() / 3));
    let near = ["--leaves", "128", "--sheets", "4..5", "--target", "5..60", "--top", "2"];
    let near = joined(on(&folder, &[&["plan", "--paper", "Alder bond"], &near[..]].concat()));
    assert!(!near.contains("eyond your trials"), "{near}");
}

#[test]
fn before_any_trial_no_gap_is_mentioned() {
    let folder = Folder::new();
    folder.run(&["init", "tour"]).ends(0);
    let new = ["--caliper", "0.1mm", "--hardness", "hard", "--laid", "0.5mm", "--sections", "80"];
    let text = joined(on(&folder, &[&["predict"], &STOCK[..], &new].concat()));
    assert!(!text.contains("eyond your trials"), "{text}");
}
