//! Data flows one way, and the path and the name of a file say what it may use.
//!
//! The ground floors use only the layers to their left. The terminal and the drawing layer know no
//! job. In the folder of a job, `answer` works out a result, `text` puts it into words and `draw`
//! draws it. `command` goes from arguments to an answer to a text, and `page` from a form to the
//! same answer on a page. Each outside library has its place.

use crate::support::{repository, repository_text, sources};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// The folders from left to right.
const LAYERS: [&str; 11] = [
    "mixed", "units", "trade", "book", "observe", "model", "terminal", "draw", "page", "jobs",
    "commands",
];

/// The folder of the engine, which is a library of its own.
const ENGINE: &str = "mixed";

/// The kinds of file in the folder of a job, by the first word of their names.
const KINDS: [&str; 5] = ["answer", "text", "draw", "command", "page"];

/// Files beside the folders of the jobs, with their kinds.
const BESIDE: [(&str, &str); 4] =
    [("fitted", "answer"), ("refusal", "command"), ("desk", "page"), ("memory", "page")];

/// Folders that serve several jobs, which may use their texts and arguments.
const PARTS: [&str; 12] = [
    "beliefs",
    "record",
    "plan_spec",
    "forecast",
    "keep",
    "compare",
    "track",
    "history",
    "study",
    "entries",
    "doubt",
    "backup",
];

/// The parts of the terminal that make words and figures and touch no stream.
const WORDS: [&str; 9] =
    ["json", "mark", "number", "odds", "picture", "screen", "strip", "table", "words"];

/// The types of the model that fit or predict.
const FITS: [&str; 7] =
    ["Beliefs", "Effects", "Mixed", "Ordinary", "PartwayFit", "Prediction", "SwellFit"];

/// Folders in which files still use each other.
const CIRCLES: [&str; 1] = ["book/csv"];

/// Code that only a formula needs.
const FORMULA: [&str; 8] =
    [".sqrt()", ".powi(", ".powf(", ".exp()", ".ln()", ".ln_1p()", ".exp_m1()", "quantile("];

/// Code that only something that touches a file needs.
const FILES: [&str; 7] =
    ["std::fs", "std::io", "std::env", "File::", "OpenOptions", "Book::open", ".append("];

const EVERYWHERE: &[&str] = &[
    "mixed", "units", "trade", "book", "observe", "model", "terminal", "draw", "page", "jobs",
    "commands",
];

/// Outside libraries and the folders or files that may use them, including the tests beside the
/// code. A library not named here may not be used anywhere.
const LIBRARIES: [(&str, &[&str]); 45] = [
    ("anstream", &["main"]),
    ("askama", &["draw", "page", "jobs/report/draw", "jobs/*/page"]),
    ("axum", &["page"]),
    ("calamine", &["book/sheet/xlsx"]),
    (
        "clap",
        &[
            "commands",
            "terminal/prompt",
            "page/form",
            "jobs/*/command",
            "jobs/desk",
            "jobs/record/page_asked",
            "jobs/man/text",
        ],
    ),
    ("clap_complete", &["jobs/completions/command"]),
    ("clap_mangen", &["jobs/man/text"]),
    ("comfy_table", &["terminal/table"]),
    ("csv", &["book"]),
    ("form_urlencoded", &["page"]),
    ("getrandom", &["page/key"]),
    ("hyper", &["page"]),
    ("hyper_util", &["page"]),
    (
        "jiff",
        &[
            "trade",
            "book",
            "observe",
            "terminal",
            "draw",
            "jobs/desk",
            "jobs/*/answer",
            "jobs/*/draw",
            "jobs/*/page",
        ],
    ),
    ("libm", &["mixed", "model"]),
    ("linfa", &["mixed", "model"]),
    ("linfa_linear", &["model"]),
    ("mixed", &["units/mod", "model/mod"]),
    ("ndarray", &["mixed", "model"]),
    ("ab_glyph", &["draw"]),
    ("plotters", &["draw"]),
    ("png", &["draw", "jobs/chart/draw_tests"]),
    ("polars", &["jobs/export/text"]),
    ("polars_io", &["jobs/export/text"]),
    ("proptest", EVERYWHERE),
    ("quick_xml", &["book/sheet/ods"]),
    ("qrcode", &["jobs/bench/text"]),
    ("rand_xoshiro", &["mixed", "model"]),
    ("rayon", &["mixed/parallel"]),
    ("roxmltree", &["jobs/chart/draw_tests"]),
    // An answer is its own JSON; `text_json` is for JSON with sentences in it.
    (
        "serde",
        &[
            "units",
            "trade",
            "book",
            "observe",
            "mixed",
            "model",
            "terminal/json",
            "jobs/*/answer",
            "jobs/*/text_json",
        ],
    ),
    (
        "serde_json",
        &[
            "book/files/summary_file",
            "terminal/json",
            "jobs/audit/text",
            "jobs/import/text",
            "jobs/*/text_tests",
        ],
    ),
    ("sha2", &["book", "page/key", "page/assets"]),
    ("signal_hook", &["terminal/interrupt"]),
    ("sobol", &["mixed"]),
    ("statrs", &["mixed", "model"]),
    ("strsim", &["terminal", "book"]),
    ("swellbook", &["main"]),
    ("tempfile", &["book", "terminal", "commands"]),
    ("terminal_size", &["terminal/session"]),
    ("thiserror", EVERYWHERE),
    ("tokio", &["page", "jobs/bench/command"]),
    ("toml", &["book"]),
    ("zip", &["book/sheet/workbook"]),
    ("std", &["main"]),
];

/// A source file: its path under src in parts, without the ending, and its text without comments.
struct Source {
    parts: Vec<String>,
    code: String,
    /// Whether it is built only for tests.
    is_test: bool,
}

fn all() -> Vec<Source> {
    let src = repository("src");
    let source = |path: PathBuf| {
        let inside = path.strip_prefix(&src).expect("under src").with_extension("");
        let parts = inside.iter().map(|part| part.to_string_lossy().into_owned()).collect();
        let text = std::fs::read_to_string(&path).expect("text");
        let code: Vec<&str> =
            text.lines().map(|line| line.split("//").next().unwrap_or("")).collect();
        Source { parts, code: code.join("\n"), is_test: false }
    };
    let mut all: Vec<Source> = sources("src").into_iter().map(source).collect();
    let tests: BTreeSet<Vec<String>> = all.iter().flat_map(Source::test_modules).collect();
    for file in &mut all {
        file.is_test = tests.contains(&file.module()) || file.name().ends_with("_tests");
    }
    all
}

impl Source {
    fn shown(&self) -> String {
        format!("src/{}.rs", self.parts.join("/"))
    }

    fn layer(&self) -> &str {
        &self.parts[0]
    }

    fn name(&self) -> &str {
        self.parts.last().map_or("", String::as_str)
    }

    /// The path of its module.
    fn module(&self) -> Vec<String> {
        let folder = self.name() == "mod" || self.name() == "lib";
        self.parts[..self.parts.len() - usize::from(folder)].to_vec()
    }

    /// The modules that it declares only for tests.
    fn test_modules(&self) -> Vec<Vec<String>> {
        let declared = self.code.split("#[cfg(test)]\n").skip(1);
        let names = declared.filter_map(|rest| {
            let (before, name) = rest.split(';').next()?.split_once("mod ")?;
            (!before.contains('\n') && !name.contains('{')).then(|| name.to_owned())
        });
        names.map(|name| [self.module(), vec![name]].concat()).collect()
    }

    /// The code without the tests at its end.
    fn work(&self) -> &str {
        let tests = self.code.find("#[cfg(test)]\nmod tests");
        &self.code[..tests.unwrap_or(self.code.len())]
    }

    /// The kind of a file of the jobs, by its name; `None` for a file that only lists others.
    fn kind(&self) -> Option<&str> {
        match &self.parts[..] {
            [jobs, file] if jobs == "jobs" => {
                BESIDE.iter().find(|one| one.0 == file).map(|one| one.1)
            }
            [jobs, _, file] if jobs == "jobs" && file != "mod" => file.split('_').next(),
            _ => None,
        }
    }

    /// Every path inside the crate that the code names, in parts from the root.
    fn paths(&self) -> BTreeSet<Vec<String>> {
        let code = self.work();
        let mut found = BTreeSet::new();
        for (at, _) in code.match_indices("use ") {
            let line = code[..at].rsplit('\n').next().unwrap_or_default().trim();
            if matches!(line, "" | "pub" | "pub(crate)" | "pub(super)") {
                let tree = code[at + 4..].split(';').next().unwrap_or_default();
                self.leaves(tree, &[], &mut found);
            }
        }
        for root in ["crate::", "super::"] {
            for (at, _) in code.match_indices(root) {
                let end = code[at..].find(|c: char| !(c.is_alphanumeric() || "_:".contains(c)));
                let path = &code[at..end.map_or(code.len(), |end| at + end)];
                // A path with braces after it is the head of a tree.
                if !path.ends_with("::") {
                    self.leaves(path, &[], &mut found);
                }
            }
        }
        found
    }

    /// The paths of a `use` tree, with its braces expanded.
    fn leaves(&self, tree: &str, before: &[String], found: &mut BTreeSet<Vec<String>>) {
        let (head, inner) = match tree.split_once('{') {
            Some((head, rest)) => (head, rest.rsplit_once('}').map(|rest| rest.0)),
            None => (tree.split(" as ").next().unwrap_or(tree), None),
        };
        let words = head.split("::").map(str::trim).filter(|word| !word.is_empty());
        let path: Vec<String> = before.iter().cloned().chain(words.map(str::to_owned)).collect();
        match inner {
            Some(inner) => {
                branches(inner).into_iter().for_each(|branch| self.leaves(branch, &path, found));
            }
            None => found.extend(self.absolute(&path)),
        }
    }

    /// The path from the root of the crate; `None` for a path into a library.
    fn absolute(&self, path: &[String]) -> Option<Vec<String>> {
        let ups = path.iter().take_while(|word| *word == "super").count();
        match path.first()?.as_str() {
            "crate" if self.layer() == ENGINE => Some([&[ENGINE.to_owned()], &path[1..]].concat()),
            "crate" => Some(path[1..].to_vec()),
            "super" => {
                let module = self.module();
                let above = &module[..module.len().checked_sub(ups)?];
                Some(above.iter().chain(&path[ups..]).cloned().collect())
            }
            _ => None,
        }
    }
}

/// The branches of a `use` tree, separated at the commas outside inner braces.
fn branches(inner: &str) -> Vec<&str> {
    let (mut depth, mut start, mut branches) = (0_i32, 0, Vec::new());
    for (at, c) in inner.char_indices() {
        depth += i32::from(c == '{') - i32::from(c == '}');
        if c == ',' && depth == 0 {
            branches.push(inner[start..at].trim());
            start = at + 1;
        }
    }
    branches.push(inner[start..].trim());
    branches.retain(|branch| !branch.is_empty());
    branches
}

/// Files of the jobs of these kinds, without their tests.
fn named(kinds: &[&str]) -> Vec<Source> {
    let mut files = all();
    files.retain(|file| file.kind().is_some_and(|kind| kinds.contains(&kind)) && !file.is_test);
    assert!(files.len() >= 10, "only {} sources of {kinds:?} were read", files.len());
    files
}

/// The first four parts of a path, with empty ones at the end.
fn words(path: &[String]) -> [&str; 4] {
    let word = |at: usize| path.get(at).map_or("", String::as_str);
    [word(0), word(1), word(2), word(3)]
}

/// Whether a word names a function or a module, not a type or constant.
fn is_small(word: &str) -> bool {
    word.starts_with(|c: char| c.is_lowercase())
}

#[test]
fn no_module_uses_one_to_its_right() {
    let mut seen = 0;
    for file in all() {
        let Some(own) = LAYERS.iter().position(|name| *name == file.layer()) else { continue };
        seen += 1;
        for path in file.paths() {
            let used = LAYERS[own + 1..].iter().find(|later| **later == path[0]);
            assert!(used.is_none(), "{} uses {}", file.shown(), path.join("::"));
        }
    }
    assert!(seen > 200, "only {seen} sources were read");
}

#[test]
fn drawings_and_texts_use_only_the_words_of_the_terminal() {
    let mut files = named(&["text", "draw"]);
    files.extend(all().into_iter().filter(|file| file.layer() == "draw" && !file.is_test));
    for file in files {
        for path in file.paths().iter().filter(|path| path[0] == "terminal") {
            let [_, part, ..] = words(path);
            assert!(WORDS.contains(&part), "{} uses {}", file.shown(), path.join("::"));
        }
    }
}

#[test]
fn a_file_of_a_job_is_named_for_what_it_does() {
    for file in all() {
        let known = match &file.parts[..] {
            [jobs, _] if jobs == "jobs" => file.name() == "mod" || file.kind().is_some(),
            [jobs, _, name] if jobs == "jobs" && name == "mod" => {
                let lines = file.code.lines().map(str::trim).filter(|line| !line.is_empty());
                lines.clone().all(|line| line.contains("mod ") || line == "#[cfg(test)]")
            }
            [jobs, ..] if jobs == "jobs" => file.kind().is_some_and(|it| KINDS.contains(&it)),
            _ => true,
        };
        assert!(known, "{} is named for nothing that a job does", file.shown());
    }
}

#[test]
fn an_answer_knows_neither_terminal_nor_drawing() {
    for file in named(&["answer"]) {
        for path in file.paths() {
            let [top, job, name, _] = words(&path);
            let beside = BESIDE.contains(&(job, "answer"));
            let fits = match top {
                "terminal" | "draw" | "commands" => false,
                "jobs" => beside || name.starts_with("answer"),
                _ => true,
            };
            assert!(fits, "{} uses {}", file.shown(), path.join("::"));
        }
    }
}

/// It receives a finished value. It may name the types of the ground floors, but none that fits or
/// predicts, and none of their functions except those of units and of the trade's words.
#[test]
fn a_text_or_a_drawing_computes_no_statistic_and_touches_no_file() {
    let mut files = named(&["text", "draw"]);
    files.extend(all().into_iter().filter(|file| file.layer() == "draw" && !file.is_test));
    for file in files {
        for path in file.paths() {
            let last = path.last().map_or("", String::as_str);
            let fits = match path[0].as_str() {
                "book" | "observe" | "model" => !is_small(last) && !FITS.contains(&last),
                _ => true,
            };
            assert!(fits, "{} uses {}", file.shown(), path.join("::"));
        }
        // Drawing needs the geometry of its marks, and a picture is bytes before it is a file.
        let banned: Vec<&str> = match file.layer() {
            "draw" => FILES.into_iter().filter(|word| *word != "std::io").collect(),
            _ => FILES.into_iter().chain(FORMULA).collect(),
        };
        for word in banned {
            assert!(!file.work().contains(word), "{} has {word}", file.shown());
        }
    }
}

#[test]
fn a_command_holds_no_formula() {
    for file in named(&["command"]) {
        for path in file.paths().iter().filter(|path| path[0] == "model") {
            let last = path.last().map_or("", String::as_str);
            let fits = !is_small(last) && !FITS.contains(&last);
            assert!(fits, "{} uses {}", file.shown(), path.join("::"));
        }
        for word in FORMULA {
            assert!(!file.work().contains(word), "{} has {word}", file.shown());
        }
    }
}

/// A page works by the command of its job, or shows its answer. It has no formula, no rule and no
/// file access of its own.
#[test]
fn a_page_holds_no_formula_and_touches_no_file() {
    // `memory` reads the book for all pages.
    for file in named(&["page"]).into_iter().filter(|file| file.name() != "memory") {
        for path in file.paths().iter().filter(|path| path[0] == "model") {
            let last = path.last().map_or("", String::as_str);
            let fits = !is_small(last) && !FITS.contains(&last);
            assert!(fits, "{} uses {}", file.shown(), path.join("::"));
        }
        for word in FORMULA.into_iter().chain(FILES) {
            assert!(!file.work().contains(word), "{} has {word}", file.shown());
        }
    }
}

/// A drawing may appear on any page; the texts and arguments of a job are its own.
#[test]
fn a_job_uses_the_answers_of_another_and_never_its_text() {
    for file in named(&KINDS) {
        for path in file.paths().iter().filter(|path| path[0] == "jobs") {
            let [_, job, name, _] = words(path);
            let own = file.parts[1] == job || PARTS.contains(&job);
            let free = ["answer", "draw"].iter().any(|kind| name.starts_with(kind));
            let beside = BESIDE.iter().any(|one| one.0 == job);
            assert!(own || free || beside, "{} uses {}", file.shown(), path.join("::"));
            let says = ["text", "draw"].contains(&file.kind().unwrap_or_default());
            let commands = name.starts_with("command") || job == "refusal";
            assert!(!(says && commands), "{} uses {}", file.shown(), path.join("::"));
        }
    }
}

/// A `mod` file only lists what a folder offers, so only the files it names can be in a circle.
#[test]
fn no_files_use_each_other_in_a_circle() {
    let files: Vec<Source> = all().into_iter().filter(|file| !file.is_test).collect();
    let is_free =
        |file: &&Source| !CIRCLES.contains(&file.parts[..file.parts.len() - 1].join("/").as_str());
    let modules: BTreeSet<Vec<String>> = files.iter().filter(is_free).map(Source::module).collect();
    let target = |path: &Vec<String>| {
        let known = (1..=path.len()).rev().map(|count| path[..count].to_vec());
        known.into_iter().find(|module| modules.contains(module))
    };
    let mut left: BTreeMap<Vec<String>, BTreeSet<Vec<String>>> = BTreeMap::new();
    for file in files.iter().filter(|file| modules.contains(&file.module())) {
        // The list of a folder's files uses none of them.
        let mut uses: BTreeSet<_> = file.paths().iter().filter_map(target).collect();
        uses.remove(&file.module());
        left.insert(file.module(), if file.name() == "mod" { BTreeSet::new() } else { uses });
    }
    // Files that use no remaining file are removed until there are none.
    while let Some(free) = left.iter().find(|(_, uses)| uses.is_empty()).map(|it| it.0.clone()) {
        left.remove(&free);
        left.values_mut().for_each(|uses| {
            uses.remove(&free);
        });
    }
    assert!(left.is_empty(), "in a circle, or using one: {:#?}", left.keys());
}

/// Whether a place such as `book`, `terminal/table` or `jobs/*/text` covers a file.
fn covers(place: &str, file: &Source) -> bool {
    let mut parts = place.split('/').zip(&file.parts);
    let deep = place.split('/').count();
    file.parts.len() >= deep
        && parts.all(|(place, part)| match place {
            "*" => true,
            _ => part == place || part.starts_with(&format!("{place}_")) && deep > 1,
        })
}

/// Finds `use x::`, and `x::y` at the start of a path, where x is a library of a manifest.
#[test]
fn each_outside_library_is_used_in_its_place_only() {
    let mut names = BTreeSet::new();
    for manifest in ["Cargo.toml", "src/mixed/Cargo.toml"] {
        let manifest: toml::Table = repository_text(manifest).parse().expect("a manifest is TOML");
        names.extend(manifest["dependencies"].as_table().expect("dependencies").keys().cloned());
    }
    for file in all() {
        for name in names.iter().map(|name| name.replace('-', "_")) {
            let word = format!("{name}::");
            let uses = |line: &&str| {
                line.match_indices(&word).any(|(at, _)| {
                    let before = line[..at].chars().next_back();
                    !before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | ':'))
                })
            };
            if let Some(line) = file.code.lines().find(uses) {
                let places = LIBRARIES.iter().find(|library| library.0 == name);
                let places = places.map_or(&[][..], |library| library.1);
                let fits = places.iter().any(|place| covers(place, &file));
                assert!(fits, "{} uses {name}: {line}", file.shown());
            }
        }
    }
}

/// Tests, and what only tests use, do not count.
#[test]
fn a_file_has_no_more_than_three_hundred_lines() {
    for file in all().into_iter().filter(|file| !file.is_test) {
        let lines = file.work().lines().count();
        assert!(lines <= 300, "{} has {lines} lines", file.shown());
    }
}

#[test]
fn main_is_short() {
    let text = repository_text("src/main.rs");
    assert!(text.lines().count() <= 26);
}

/// The laws find what breaks them: they read paths from trees, relative paths and code.
#[test]
fn the_paths_of_a_file_are_read_in_every_form() {
    let code = "use super::{answer::{A, b as c}, text};\npub(crate) use crate::book;\n\
                fn f() { crate::model::fit(super::super::other::answer::X) }\n\
                #[cfg(test)]\nmod tests { use crate::draw; }";
    let parts = ["jobs", "job", "command"].map(str::to_owned).to_vec();
    let file = Source { parts, code: code.to_owned(), is_test: false };
    let found: Vec<String> = file.paths().iter().map(|path| path.join("::")).collect();
    let wanted = [
        "book",
        "jobs::job::answer::A",
        "jobs::job::answer::b",
        "jobs::job::text",
        "jobs::other::answer::X",
        "model::fit",
    ];
    for path in wanted {
        assert!(found.contains(&path.to_owned()), "{path} of {found:?}");
    }
    assert!(!found.iter().any(|path| path.starts_with("draw")), "{found:?}");
}
