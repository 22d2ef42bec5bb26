//! Random commands for one book, and what the book holds after each of them, worked out here
//! without the program.
#![cfg(target_os = "linux")]

use crate::support::random_books::Random;
use std::path::Path;

/// What a book holds, in the lines of [`crate::support::kept::kept`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Holding {
    papers: Vec<String>,
    threads: Vec<String>,
    targets: Vec<String>,
    trials: Vec<String>,
    readings: Vec<String>,
    struck: Vec<String>,
}

impl Holding {
    /// The contents of [`crate::support::folder::Folder::with_trial`].
    pub fn with_trial() -> Self {
        let targets =
            "exposed-link sewn-boards square-back-case rounded spring-back rounded-backed";
        Self {
            papers: vec!["paper bond 80".to_owned()],
            threads: vec!["thread linen 25".to_owned()],
            targets: targets.split(' ').map(|name| format!("target {name}")).collect(),
            trials: vec![trial_line("T1", "bond 80", "linen 25")],
            ..Self::default()
        }
    }

    /// Every line, kind by kind.
    pub fn lines(&self) -> Vec<String> {
        let Self { papers, threads, targets, trials, readings, struck } = self;
        [papers, threads, targets, trials, readings, struck]
            .into_iter()
            .flatten()
            .cloned()
            .collect()
    }

    /// The same after a target was recorded and struck.
    pub fn with_target_struck(mut self, name: &str) -> Self {
        self.struck.push(format!("struck target {name}"));
        self
    }

    fn reading(&mut self, id: &str, values: &[f64], note: &str) {
        let values: String = values.iter().map(|value| format!(" {value}")).collect();
        self.readings.push(format!("reading {id}{values} {note}"));
    }

    /// The id of each reading that counts.
    fn reading_ids(&self) -> Vec<String> {
        let id = |line: &String| line.split(' ').nth(1).unwrap_or_default().to_owned();
        self.readings.iter().map(id).collect()
    }

    fn strike_readings(&mut self, ids: &[String]) {
        for id in ids {
            let prefix = format!("reading {id} ");
            self.readings.retain(|line| !line.starts_with(&prefix));
            self.struck.push(format!("struck reading {id}"));
        }
    }
}

fn trial_line(name: &str, paper: &str, thread: &str) -> String {
    format!("trial {name} of {paper}, {thread}, Some(2026-03-01)")
}

/// How the program gets its readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// By flags.
    Nothing,
    /// From a gauge that types them at a terminal.
    Typed(String),
}

/// A command, and what the book holds after it.
#[derive(Clone, Debug)]
pub struct Deed {
    pub args: Vec<String>,
    pub input: Input,
    pub after: Holding,
}

/// The kinds of random command.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Readings,
    Bench,
    Trial,
    Import,
    Strike,
    StrikeTrial,
}

impl Kind {
    pub const ALL: [Self; 6] =
        [Self::Readings, Self::Bench, Self::Trial, Self::Import, Self::Strike, Self::StrikeTrial];

    /// A command of this kind on a book that holds `now`. `number` makes its names new, and its
    /// sheet goes to the folder `beside`.
    pub fn deed(self, now: &Holding, dice: &mut Random, number: usize, beside: &Path) -> Deed {
        match self {
            Self::Readings => readings(now, dice, number),
            Self::Bench => bench(now, dice, number),
            Self::Trial => trial(now, number),
            Self::Import => import(now, dice, number, beside),
            Self::Strike => strike(now, dice),
            Self::StrikeTrial => strike_trial(now, dice, number),
        }
    }
}

fn words(text: &str) -> Vec<String> {
    text.split(' ').map(str::to_owned).collect()
}

/// New places, each with a spine and a fore-edge in whole hundredths.
fn places(dice: &mut Random, number: usize, most: u64) -> Vec<(String, f64, f64)> {
    let hundredths = |base: u64, dice: &mut Random| (base + dice.below(60)) as f64 / 100.0;
    (0..1 + dice.below(most))
        .map(|place| {
            let name = format!("n{number}-{place}");
            (name, hundredths(1100, dice), hundredths(800, dice))
        })
        .collect()
}

fn joined<T: ToString>(parts: impl Iterator<Item = T>, by: &str) -> String {
    parts.map(|part| part.to_string()).collect::<Vec<_>>().join(by)
}

fn readings(now: &Holding, dice: &mut Random, number: usize) -> Deed {
    let places = places(dice, number, 40);
    let mut args = words("record readings T1 --state sewn --note whole,\"and\" --place");
    args.push(joined(places.iter().map(|place| &place.0), ","));
    args.extend(["--spine".to_owned(), joined(places.iter().map(|place| place.1), ",")]);
    args.extend(["--fore-edge".to_owned(), joined(places.iter().map(|place| place.2), ",")]);
    let mut after = now.clone();
    for (place, spine, fore_edge) in places {
        after.reading(&format!("T1/sewn/{place}"), &[spine, fore_edge], "whole,\"and\"");
    }
    Deed { args, input: Input::Nothing, after }
}

fn bench(now: &Holding, dice: &mut Random, number: usize) -> Deed {
    let places = places(dice, number, 20);
    let mut args = words("record readings T1 --state knocked --place");
    args.push(joined(places.iter().map(|place| &place.0), ","));
    let spines = joined(places.iter().map(|place| place.1), "\n");
    let fore_edges = joined(places.iter().map(|place| place.2), "\n");
    let mut after = now.clone();
    for (place, spine, fore_edge) in places {
        after.reading(&format!("T1/knocked/{place}"), &[spine, fore_edge], "");
    }
    let input = Input::Typed(format!("{spines}\ndone\n{fore_edges}\ndone\n"));
    Deed { args, input, after }
}

fn trial(now: &Holding, number: usize) -> Deed {
    let name = format!("B{number}");
    let mut args = words(&format!("record trial {name} --sections 10 --sheets 4 --paper"));
    args.extend(["bond 80", "--thread", "linen 25"].map(str::to_owned));
    let mut after = now.clone();
    after.trials.push(trial_line(&name, "bond 80", "linen 25"));
    Deed { args, input: Input::Nothing, after }
}

const HEADER: &str = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,place,spine_mm,fore_edge_mm";

/// A sheet with a paper, a thread, a trial and readings, all new.
fn import(now: &Holding, dice: &mut Random, number: usize, beside: &Path) -> Deed {
    let (trial, paper, thread) =
        (format!("S{number}"), format!("wove {number}"), format!("flax {number}"));
    let mut after = now.clone();
    after.papers.push(format!("paper {paper}"));
    after.threads.push(format!("thread {thread}"));
    after.trials.push(trial_line(&trial, &paper, &thread));
    let mut sheet = format!("{HEADER}\n");
    for (place, spine, fore_edge) in places(dice, number, 40) {
        let same = format!("{trial},2026-03-01,{paper},hard,0.1,{thread},0.46,10,4,sewn");
        sheet.push_str(&format!("{same},{place},{spine},{fore_edge}\n"));
        after.reading(&format!("{trial}/sewn/{place}"), &[spine, fore_edge], "");
    }
    let path = beside.join("sheet.csv");
    std::fs::write(&path, sheet).expect("a sheet beside the book");
    let args = vec!["import".to_owned(), path.to_string_lossy().into_owned()];
    Deed { args, input: Input::Nothing, after }
}

fn strike(now: &Holding, dice: &mut Random) -> Deed {
    let mut left = now.reading_ids();
    let mut ids = Vec::new();
    for _ in 0..3.min(left.len()) {
        let index = dice.below(left.len() as u64) as usize;
        ids.push(left.swap_remove(index));
    }
    assert!(!ids.is_empty(), "there are readings to strike");
    let mut args = words("strike reading");
    args.extend(ids.iter().cloned());
    args.extend(["--reason", "not, zeroed"].map(str::to_owned));
    let mut after = now.clone();
    after.strike_readings(&ids);
    Deed { args, input: Input::Nothing, after }
}

/// Strikes a trial of a sheet, with its readings. Without such a trial, it records one.
fn strike_trial(now: &Holding, dice: &mut Random, number: usize) -> Deed {
    let names = now.trials.iter().filter_map(|line| line.split(' ').nth(1));
    let of_sheets: Vec<&str> = names.filter(|name| name.starts_with('S')).collect();
    if of_sheets.is_empty() {
        return trial(now, number);
    }
    let name = of_sheets[dice.below(of_sheets.len() as u64) as usize];
    let mut args = words(&format!("strike trial {name}"));
    args.extend(["--reason", "the wrong thread"].map(str::to_owned));
    let mut after = now.clone();
    after.trials.retain(|line| !line.starts_with(&format!("trial {name} ")));
    after.struck.push(format!("struck trial {name}"));
    let ids = now.reading_ids();
    let ids: Vec<String> =
        ids.into_iter().filter(|id| id.starts_with(&format!("{name}/"))).collect();
    after.strike_readings(&ids);
    Deed { args, input: Input::Nothing, after }
}
