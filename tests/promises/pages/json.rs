//! The page about JSON has every field that is printed, with its type, and nothing else.
//!
//! The first two columns of its tables come from the output of commands here; the descriptions are
//! written by hand. `SWELLBOOK_TEXTS=write` writes new fields and types into the page. A field that
//! no example shows fails, because the type of a value that is always null, or of a list that is
//! always empty, is unknown.

use crate::pages::references::subcommands;
use crate::support::folder::{Folder, Run};
use crate::support::pools::pool;
use crate::support::{repository, repository_text};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use swellbook::book::pool_text;

const PAGE: &str = "docs/reference/json.md";

/// The kinds of value found at each path, by the heading of the section or part.
type Found = BTreeMap<String, BTreeMap<String, BTreeSet<String>>>;

#[derive(Clone, Debug, PartialEq)]
struct Row {
    field: String,
    kind: String,
    meaning: String,
}

impl Row {
    fn read(line: &str) -> Option<Self> {
        let cells = line.strip_prefix("| `")?.strip_suffix('|')?.trim_end();
        let mut cells = cells.splitn(3, " | ");
        let field = cells.next()?.trim_end_matches('`').to_owned();
        let kind = cells.next()?.trim_end_matches(" |").to_owned();
        Some(Self { field, kind, meaning: cells.next().unwrap_or_default().trim().to_owned() })
    }

    fn line(&self) -> String {
        let Self { field, kind, meaning } = self;
        let space = if meaning.is_empty() { "" } else { " " };
        format!("| `{field}` | {kind} | {meaning}{space}|")
    }
}

/// The rows below each heading of the page.
fn tables(page: &str) -> BTreeMap<String, Vec<Row>> {
    let (mut tables, mut heading) = (BTreeMap::<String, Vec<Row>>::new(), String::new());
    for line in page.lines() {
        if line.starts_with('#') {
            line.clone_into(&mut heading);
        } else if let Some(row) = Row::read(line) {
            tables.entry(heading.clone()).or_default().push(row);
        }
    }
    tables
}

/// A pool with a bench that is off in a coefficient, a bench whose sewings differ beyond measure,
/// and a copy.
fn pooled(folder: &Folder) -> Run {
    let summary = |bench: &str| repository_text(&format!("datasets/pool/{bench}.json"));
    let benches = ["ash", "birch", "elm", "fir", "oak"];
    for bench in benches {
        folder.write(&format!("{bench}.json"), summary(bench));
    }
    folder.write("copy.json", summary("elm"));
    let mut other: Value = serde_json::from_str(&summary("cedar")).expect("JSON");
    other["log_likelihood"][3] = [&[-100.0; 16][..], &[0.0]].concat().into();
    folder.write("other.json", other.to_string());
    let files = benches.map(|bench| format!("{bench}.json"));
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    folder.run(&[&["pool", "--json"], &files[..], &["copy.json", "other.json"]].concat())
}

/// The parts that recur in several answers, with the keys that identify them.
struct Parts(Vec<(String, BTreeSet<String>)>);

impl Parts {
    fn of(page: &str) -> Self {
        let top = |row: &Row| row.field.split(['.', '[']).next().unwrap_or_default().to_owned();
        let parts = tables(page).into_iter().filter(|(heading, _)| heading.starts_with("### "));
        Self(parts.map(|(heading, rows)| (heading, rows.iter().map(top).collect())).collect())
    }

    fn heading(&self, value: &Value) -> Option<&str> {
        let keys: BTreeSet<String> = value.as_object()?.keys().cloned().collect();
        self.0.iter().find(|(_, known)| *known == keys).map(|(heading, _)| heading.as_str())
    }
}

/// The kind of a value, in the words of the pages.
pub fn kind_of(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(number) if number.is_u64() => "whole",
        Value::Number(_) => "number",
        Value::String(_) => "text",
        Value::Array(_) => "list",
        Value::Object(_) => "object",
    }
}

/// Collects the kinds of `value`, which is at `path` under a heading, and of all values in it. A
/// part goes to its own heading.
fn gather(value: &Value, heading: &str, path: &str, parts: &Parts, found: &mut Found) {
    let part = parts.heading(value).filter(|_| !path.is_empty());
    let kind = part.map_or(kind_of(value), |part| part.trim_start_matches("### "));
    let kinds = found.entry(heading.to_owned()).or_default().entry(path.to_owned()).or_default();
    kinds.insert(kind.to_owned());
    let (heading, path) = part.map_or((heading, path), |part| (part, ""));
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                let named = matches!(path, "coefficients" | "spreads" | "check.terms");
                let key = if named { "NAME" } else { key };
                let dot = if path.is_empty() { "" } else { "." };
                gather(value, heading, &format!("{path}{dot}{key}"), parts, found);
            }
        }
        Value::Array(list) => {
            list.iter().for_each(|one| gather(one, heading, &format!("{path}[]"), parts, found));
        }
        _ => {}
    }
}

/// The type in the words of the page.
fn said(path: &str, kinds: &BTreeSet<String>) -> String {
    let is_plain = |kind: &&str| {
        let is_number_too = *kind == "whole" && kinds.contains("number");
        *kind != "null" && !is_number_too
    };
    let plain: Vec<&str> = kinds.iter().map(String::as_str).filter(is_plain).collect();
    assert!(!plain.is_empty(), "no example shows {path}, which is always null");
    plain
        .into_iter()
        .chain(kinds.contains("null").then_some("null"))
        .collect::<Vec<_>>()
        .join(" or ")
}

/// The rows that a table should have: its rows that were found, in their order, then the new ones.
/// A value that only holds others has no row.
fn renewed(rows: &[Row], found: &BTreeMap<String, BTreeSet<String>>) -> Vec<Row> {
    for (path, _) in found.iter().filter(|(_, kinds)| kinds.contains("list")) {
        let element = format!("{path}[]");
        assert!(found.contains_key(&element), "no example shows an element of {path}");
    }
    let is_leaf = |row: &Row| !matches!(row.kind.as_str(), "object" | "list");
    let there = rows.iter().filter_map(|row| {
        let kind = said(&row.field, found.get(&row.field)?);
        // A value that is rarely null may be marked so by hand.
        let is_said = row.kind == format!("{kind} or null");
        Some(if is_said { row.clone() } else { Row { kind, ..row.clone() } })
    });
    let is_new = |path: &&String| !path.is_empty() && !rows.iter().any(|row| row.field == **path);
    let new = found.keys().filter(is_new).map(|path| Row {
        field: path.clone(),
        kind: said(path, &found[path]),
        meaning: String::new(),
    });
    there.chain(new).filter(is_leaf).collect()
}

/// The page with its tables as they should be.
fn rewritten(page: &str, found: &Found) -> String {
    let known = tables(page);
    let (mut lines, mut heading, mut is_done) = (Vec::new(), "", false);
    for line in page.lines() {
        if line.starts_with('#') {
            (heading, is_done) = (line, false);
        }
        let rows = known.get(heading).map_or(&[][..], Vec::as_slice);
        if line.starts_with("| --- ") {
            lines.push(line.to_owned());
            let rows = found.get(heading).map(|found| renewed(rows, found)).unwrap_or_default();
            lines.extend(rows.iter().map(Row::line));
            is_done = true;
        } else if !(is_done && Row::read(line).is_some()) {
            lines.push(line.to_owned());
        }
    }
    lines.join("\n") + "\n"
}

/// The output of commands, collected under the headings of the page.
struct Examples {
    parts: Parts,
    found: Found,
}

impl Examples {
    fn add(&mut self, heading: &str, runs: impl IntoIterator<Item = Run>) {
        for run in runs {
            let mut value: Value = serde_json::from_str(&run.out).expect("JSON");
            if heading == "## midway" {
                self.add_forecast(&mut value);
            }
            gather(&value, heading, "", &self.parts, &mut self.found);
        }
    }

    /// The fields that `midway` shares with `predict` count as fields of `predict`.
    fn add_forecast(&mut self, value: &mut Value) {
        let map = value.as_object_mut().expect("an object");
        let predict = self.found.get("## predict").expect("predict comes first");
        let keys: Vec<String> =
            map.keys().filter(|key| predict.contains_key(*key)).cloned().collect();
        let shared = keys.into_iter().map(|key| (key.clone(), map.remove(&key).expect("a key")));
        let shared = Value::Object(shared.collect());
        gather(&shared, "## predict", "", &self.parts, &mut self.found);
    }
}

/// The sheet with every spine thicker by `more`, in millimetres, which depends on the row and its
/// cells. A row without a value of `more` is left out.
fn thicker(sheet: &str, more: impl Fn(usize, &dyn Fn(&str) -> String) -> Option<f64>) -> String {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let column = |name: &str| header.iter().position(|field| field == name).expect("a column");
    let mut lines = vec![header.iter().collect::<Vec<_>>().join(",")];
    for (row, record) in reader.records().map(|record| record.expect("a row")).enumerate() {
        let mut fields: Vec<String> = record.iter().map(str::to_owned).collect();
        let Some(more) = more(row, &|name| record[column(name)].to_owned()) else { continue };
        if let Ok(spine) = record[column("spine_mm")].parse::<f64>() {
            fields[column("spine_mm")] = format!("{:.2}", spine + more);
        }
        lines.push(fields.join(","));
    }
    lines.join("\n") + "\n"
}

/// A book of this name with the trials of a sheet.
fn import(folder: &Folder, name: &str, sheet: String) {
    folder.write("trials.csv", sheet);
    folder.run(&["init", name]).ends(0);
    folder.run(&["--book", name, "import", "trials.csv"]).ends(0);
}

/// `fit --json` of books in which a hand drifts, a reading is a slip, and the change of a block
/// measured at one place is hard to believe.
fn doubtful_fits(folder: &Folder) -> Vec<Run> {
    let sheet = folder.read("tour/demonstration-sheet.csv");
    let fit = |name: &str, how: &str| folder.run(&["--book", name, "fit", "--json", how]);
    let drifting = thicker(&sheet, |row, cell| {
        let is_late = cell("date").as_str() >= "2026-02-03";
        Some(if is_late { 2.0 } else { f64::from(u8::from(row == 3)) })
    });
    let doubted = thicker(&sheet, |_, cell| match cell("trial").as_str() {
        "B05" if cell("place") != "head" => None,
        "B05" if cell("state") == "knocked" => Some(1.5),
        _ => Some(0.0),
    });
    import(folder, "drifting", drifting);
    import(folder, "doubted", doubted);
    let compared = ["drifting", "doubted"].map(|name| fit(name, "--compare"));
    compared.into_iter().chain([fit("drifting", "--check")]).collect()
}

/// `fit --json` of two books together: one that two hands sewed, and the drifting one.
fn together(folder: &Folder) -> Run {
    let sheet = folder.read("tour/demonstration-sheet.csv");
    let sheet = thicker(&sheet, |_, _| Some(0.5));
    let with_hand = |(row, line): (usize, &str)| match (row, line.starts_with("B01")) {
        (0, _) => format!("{line},hand\n"),
        (_, true) => format!("{line},Ines\n"),
        (_, false) => format!("{line},\n"),
    };
    import(folder, "hands", sheet.lines().enumerate().map(with_hand).collect());
    folder.run(&["--book", "hands", "fit", "--json", "--with", "drifting"])
}

/// `fit --json` with kept forecasts: one with a written outcome, one measured after its forecast,
/// one sewn otherwise, one without an outcome, and one without a target. The book itself holds one
/// forecast.
fn followed_fit(folder: &Folder) -> Run {
    let kept = folder.read("tour/forecasts.csv");
    let open = kept.lines().last().expect("a row").replacen("a book", "another", 1);
    let rows = format!("{}34.5\n{open}\n", kept.trim_end());
    let typed = open.replacen("another", "a third", 1).replace("rounded 12..22", "12..22");
    let made = kept.lines().next().expect("a header").split(',').position(|it| it == "made");
    let mut fields: Vec<&str> = open.splitn(made.expect("a day") + 2, ',').collect();
    (fields[0], fields[made.expect("a day")]) = ("B14", "2026-02-01");
    let measured = fields.join(",");
    fields[0] = "B12";
    let unlike = fields.join(",");
    folder.write("tour/forecasts.csv", format!("{rows}{typed}\n{measured}\n{unlike}\n"));
    folder.on_tour(&["fit", "--json"])
}

/// `show --json` of the tour, with a trial that has a hand but no readings, and a struck reading.
fn shown(folder: &Folder) -> Vec<Run> {
    let on = |args: &[&str]| folder.on_tour(args).ends(0);
    let sewn = ["--paper=Alder bond", "--thread=flax 25/3", "--sections=9", "--sheets=4"];
    on(&[&["record", "trial", "H1", "--hand=Ines"], &sewn[..]].concat());
    on(&["strike", "reading", "B01/sewn/head", "--reason=a slip"]);
    on(&[&["predict", "--save=quire"], &sewn[..]].concat());
    let asked: [&[&str]; 4] = [&[], &["Alder bond"], &["flax 25/3"], &["H1"]];
    asked.iter().map(|words| on(&[&["show", "--json"], *words].concat())).collect()
}

/// Two operators who each measured every part twice.
const CROSSED: &str = "part,operator,reading_mm\n1,A,10.0\n1,A,10.1\n1,B,10.1\n1,B,10.2\n\
    2,A,11.0\n2,A,11.2\n2,B,11.1\n2,B,11.1\n3,A,12.0\n3,A,12.1\n3,B,12.3\n3,B,12.2\n";
/// One operator who measured everything, and one who repeated nothing.
const ALONE: &str = "part,operator,reading_mm\n1,A,10.0\n1,A,10.1\n2,A,11.0\n2,A,11.1\n2,B,11.1\n";

/// Every command with JSON output, on books and plans that show each of its fields.
fn examples(page: &str) -> Examples {
    let mut examples = Examples { parts: Parts::of(page), found: Found::new() };
    let folder = Folder::toured();
    let on = |args: &[&str]| folder.on_tour(args);
    let plan = ["predict", "--json", "--paper", "Alder bond", "--thread", "flax 25/3"];
    let plan = [&plan[..], &["--sections", "24", "--sheets", "4"]].concat();
    let aimed = [&plan[..], &["--target", "rounded"]].concat();
    let kept = [&aimed[..], &["--keep", "a book"]].concat();
    let shaped = ["--leaves", "190", "--round", "90", "--thread", "flax 25/3", "--sheets", "4"];
    let shaped = [&plan[..4], &shaped].concat();
    // Beyond the trials in everything, and boned in a book without boned blocks.
    let far = ["--sections", "90", "--sheets", "8", "--on", "3", "--state", "pressed", "--boned"];
    let new = ["--paper", "x", "--caliper", "0.3", "--hardness", "hard", "--thread", "y"];
    let far = [&["predict", "--json", "--laid", "0.8"], &new[..], &far].concat();
    let sheet = folder.read("tour/demonstration-sheet.csv");
    let unboned = |_: usize, cell: &dyn Fn(&str) -> String| (cell("boned") != "yes").then_some(0.0);
    import(&folder, "unboned", thicker(&sheet, unboned));
    let boned = folder.run(&[&["--book", "unboned"], &far[..]].concat());
    examples.add("## predict", [on(&plan), on(&kept), on(&shaped), on(&far), boned]);
    let choose = ["plan", "--json", "--paper", "Alder bond", "--leaves", "190", "--all"];
    let from = ["--target", "rounded-backed", "--from", "thread=flax 25/3,sheets=2"];
    let ways = [&from[..], &["--target", "199..200"]];
    examples.add("## plan", ways.map(|how| on(&[&choose[..], how].concat())));
    examples.add("## fit", doubtful_fits(&folder));
    examples.add("## fit", [followed_fit(&folder), together(&folder)]);
    folder.write("pool.toml", pool_text(&pool()));
    folder.run(&["init", "pooled", "--beliefs", "pool.toml"]).ends(0);
    let settings = folder.read("pooled/book.toml");
    folder.write("pooled/book.toml", settings + "[beliefs.hard]\nsd = 0.2\n");
    let ways = [&["beliefs", "--json"][..], &["beliefs", "--json", "--from", "pool.toml"]];
    let of_pool = ways.map(|args| folder.run(&[&["--book", "pooled"], args].concat()));
    examples.add("## beliefs", of_pool.into_iter().chain(ways.map(on)));
    examples.add("## pool", [pooled(&folder)]);
    // Thread, sewing and boning are all among the changes that help.
    let narrow = [&plan[..], &["--target", "26..27.5"]].concat();
    let long = [&plan[..6], &["--sections", "90", "--sheets", "4", "--state", "pressed"]].concat();
    let part = ["--sewn", "8", "--spine", "9.6,9.66", "--fore-edge", "6.86,6.9"];
    let three_on = [&plan[..], &["--on", "3"]].concat();
    let slip = ["--sewn", "8", "--spine", "9.60,9.66,10.05", "--fore-edge", "6.86,6.9", "--sure"];
    let inside = on(&[&["midway"], &three_on[1..], &slip].concat());
    let asked = [&plan, &aimed, &narrow, &shaped, &long];
    let part_way = asked.map(|plan| on(&[&["midway"], &plan[1..], &part].concat()));
    let wrong = ["--sewn", "8", "--spine", "6.86", "--fore-edge", "9.6"];
    let wrong = on(&[&["midway"], &plan[1..], &wrong].concat());
    examples.add("## midway", part_way.into_iter().chain([wrong, inside]));
    let next = [&plan, &aimed, &long].map(|plan| on(&[&["next"], &plan[1..]].concat()));
    examples.add("## next", next);
    let paper = ["next", "--json", "--new-paper", "x", "--caliper", "0.1", "--hardness", "soft"];
    let long = [&paper[..], &["--sections", "90"]].concat();
    examples.add("## next --new-paper", [on(&paper), on(&long)]);
    folder.write("crossed.csv", CROSSED);
    folder.write("alone.csv", ALONE);
    let sheets = ["crossed.csv", "alone.csv"].map(|sheet| on(&["gauge", "--json", sheet]));
    examples.add("## gauge", sheets.into_iter().chain([on(&["gauge", "--json"])]));
    examples.add("## show", shown(&folder));
    folder.write("sheet.csv", sheet.replacen("trial,", "my own,trial,", 1).replace("\nB", "\n,B"));
    let import = ["import", "sheet.csv", "--json"];
    let own = [&import[..], &["--heading", "my own=", "--dry-run"]].concat();
    examples.add("## import", [on(&import), on(&own)]);
    let listed = on(&["undo", "--list", "--json"]);
    folder.on_tour(&["undo"]).ends(0);
    examples.add("## undo", [listed, on(&["undo", "--list", "--json"])]);
    examples.add("## backup", [on(&["backup", "tour.tar", "--json"])]);
    let targets = "target,low_percent,high_percent,my own\na b,1,2,\nA b,1,2,\n";
    folder.write("tour/targets.csv", targets);
    let doubtful = on(&["audit", "--json"]);
    folder.write("tour/targets.csv", targets.to_owned() + "c,x,2,\n");
    examples.add("## audit", [doubtful, on(&["audit", "--json"])]);
    examples
}

#[test]
fn every_field_of_the_json_is_on_its_page() {
    let page = repository_text(PAGE);
    let examples = examples(&page);
    let renewed = rewritten(&page, &examples.found);
    if std::env::var_os("SWELLBOOK_TEXTS").is_some_and(|value| value == "write") {
        std::fs::write(repository(PAGE), &renewed).expect("the page is written");
    }
    for (old, new) in page.lines().zip(renewed.lines()) {
        assert_eq!(old, new, "on the page, and as it should be (SWELLBOOK_TEXTS=write writes it)");
    }
    assert_eq!(page.lines().count(), renewed.lines().count(), "fields at the end are missing");
    for heading in examples.found.keys() {
        assert!(page.lines().any(|line| line == heading), "the page has no {heading}");
    }
}

/// Each command with JSON output has a heading, and each heading has examples above.
#[test]
fn every_command_with_json_is_on_the_page() {
    let page = repository_text(PAGE);
    let folder = Folder::new();
    let names = subcommands(&folder.run(&["--help"]).ends(0).out);
    for name in names {
        let help = folder.run(&[&name, "--help"]).ends(0).out;
        let has = page.lines().any(|line| line == format!("## {name}"));
        assert_eq!(help.contains("\n      --json"), has, "{name}: in its help, and on the page");
    }
}
