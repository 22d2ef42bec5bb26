//! README, docs and help are plain English: short sentences, without the listed habits. Program
//! output on the pages (fenced blocks) must avoid the same habits.

use super::references::subcommands;
use super::texts::{pages, text_of};
use crate::support::folder::Folder;
use crate::support::{one_line, repository};

/// The median sentence of a text has fewer words than this.
const MEDIAN: usize = 18;
/// No sentence has more words than this.
const LONGEST: usize = 35;

/// Words and phrases that a reader stumbles over, in lower case.
const HABITS: &[&str] = &[
    "anew",
    "are told",
    "as often as not",
    "another hand since",
    "behind its back",
    "behind the program's back",
    "counts no more",
    "count no more",
    "for good",
    "foretell",
    "foretold",
    "is no",
    "is told",
    "learnt from",
    "likewise",
    "mend",
    "mended",
    "nine times in ten",
    "nineteen times in twenty",
    "no trial takes",
    "nought",
    "one handling of the block to the next",
    "one sewing to the next",
    "parted by",
    "take it back",
    "two times in three",
    "where the doubt comes from",
    "to doubt less",
];

/// Phrases that are a habit only at the end of a clause: "a value that cannot be."
const HABITS_AT_AN_END: &[&str] = &["is none", "are none", "that cannot be", "what cannot be"];

/// Usual wording that only looks like a habit.
const USUAL: &[&str] = &["is no larger", "is no longer", "there are none", "there is no"];

pub fn habits_in(text: &str) -> Vec<&'static str> {
    let mut text = one_line(text).to_lowercase();
    for usual in USUAL {
        text = text.replace(usual, "");
    }
    let inside = |c: char| c.is_alphanumeric() || c == '-';
    let found = |habit: &str, at_an_end: bool| {
        text.match_indices(habit).any(|(start, _)| {
            let (before, after) = (&text[..start], &text[start + habit.len()..]);
            let ends = !at_an_end || !after.trim_start().starts_with(char::is_alphanumeric);
            !before.ends_with(inside) && !after.starts_with(inside) && ends
        })
    };
    let anywhere = HABITS.iter().filter(|habit| found(habit, false));
    anywhere.chain(HABITS_AT_AN_END.iter().filter(|habit| found(habit, true))).copied().collect()
}

/// The prose of a page in blocks that no sentence crosses: paragraphs, list items and cells.
/// Fenced and indented blocks, comments and headings are left out.
fn blocks_of_page(page: &str) -> Vec<String> {
    let (mut blocks, mut fenced) = (vec![String::new()], false);
    for line in page.lines() {
        let item = line.trim_start();
        if item.starts_with("```") {
            fenced = !fenced;
        }
        let begins = ["- ", "![", "1. "].iter().any(|mark| item.starts_with(mark))
            || item.split_once(". ").is_some_and(|(number, _)| number.parse::<u8>().is_ok());
        let left_out = ["```", "<!--", "#", "| ---"].iter().any(|mark| item.starts_with(mark));
        if fenced || left_out || item.is_empty() || line.starts_with("    ") {
            blocks.push(String::new());
        } else if item.starts_with('|') {
            blocks.extend(item.split(" | ").map(|cell| cell.trim_matches('|').to_owned()));
            blocks.push(String::new());
        } else {
            if begins {
                blocks.push(String::new());
            }
            let block = blocks.last_mut().expect("a block");
            *block += &format!(" {item}");
        }
    }
    blocks
}

/// The fenced blocks of a page: program output and typed commands.
fn fenced_blocks(page: &str) -> Vec<String> {
    let fenced = |line: &str| line.trim_start().starts_with("```");
    let parts = page.split_inclusive('\n').fold(vec![String::new()], |mut parts, line| {
        match fenced(line) {
            true => parts.push(String::new()),
            false => *parts.last_mut().expect("a part") += line,
        }
        parts
    });
    parts.into_iter().skip(1).step_by(2).collect()
}

/// The prose of a help text in blocks, without examples, usage and the list of commands.
fn blocks_of_help(help: &str) -> Vec<String> {
    let mut blocks = vec![String::new()];
    for part in help.split("\n\n").skip(1) {
        let prose = !["Usage:", "Commands:"].iter().any(|head| part.starts_with(head));
        for line in part.lines().filter(|_| prose) {
            let item = line.trim_start();
            let head = ["-", "<", "["].iter().any(|mark| item.starts_with(mark));
            let listed = line.len() - item.len() == 2 || item.ends_with("ptions:");
            if head || listed {
                blocks.push(String::new());
            }
            if !head {
                *blocks.last_mut().expect("a block") += &format!(" {item}");
            }
            if listed {
                blocks.push(String::new());
            }
        }
        blocks.push(String::new());
    }
    blocks
}

/// The sentences of a block. A full stop ends one only if the next word does not start in lower
/// case.
fn sentences(block: &str) -> Vec<Vec<&str>> {
    let mut found: Vec<Vec<&str>> = vec![Vec::new()];
    let mut words = block.split_whitespace().peekable();
    while let Some(word) = words.next() {
        found.last_mut().expect("a sentence").push(word);
        let closing = |c: char| matches!(c, ')' | '"' | '\'' | '*' | '_' | ']');
        let next = words.peek().map(|next| next.trim_start_matches(['*', '(', '"', '[', '\'']));
        let begins = next.is_some_and(|next| !next.starts_with(char::is_lowercase));
        if word.trim_end_matches(closing).ends_with(['.', '?', '!']) && begins {
            found.push(Vec::new());
        }
    }
    let word = |word: &&str| word.contains(char::is_alphanumeric);
    found.into_iter().map(|sentence| sentence.into_iter().filter(word).collect()).collect()
}

/// The sentences over the limit, and the median if it is too high.
fn too_long(name: &str, blocks: &[String]) -> Vec<String> {
    let all = blocks.iter().flat_map(|block| sentences(block));
    // Fewer words are a name or a figure in a table.
    let mut all: Vec<Vec<&str>> = all.filter(|sentence| sentence.len() >= 4).collect();
    all.sort_by_key(Vec::len);
    assert!(!all.is_empty(), "{name} has no sentence");
    let over = all.iter().filter(|sentence| sentence.len() > LONGEST);
    let over =
        over.map(|sentence| format!("{name}: {} words: {}", sentence.len(), sentence.join(" ")));
    let median = all[all.len() / 2].len();
    let middle = (median >= MEDIAN).then(|| format!("{name}: half have {median} words or more"));
    over.chain(middle).collect()
}

/// The help of a command and of its subcommands, each with its name.
fn helps(folder: &Folder, command: &[String]) -> Vec<(String, String)> {
    let args: Vec<&str> = command.iter().map(String::as_str).chain(["--help"]).collect();
    let help = folder.run(&args).ends(0).out;
    let below = subcommands(&help);
    let below = below
        .iter()
        .flat_map(|name| helps(folder, &[command, std::slice::from_ref(name)].concat()));
    let below: Vec<_> = below.collect();
    std::iter::once((args.join(" "), help)).chain(below).collect()
}

/// Pages for binders: their sentences must be as short as those of README.
fn for_binders(page: &str) -> bool {
    let pages = ["README.md", "docs/README.md", "docs/tutorial.md", "docs/keeping.md"];
    page.starts_with("docs/how-to/")
        || pages.contains(&page)
        || page == "docs/reading-the-charts.md"
}

pub fn name_of(page: &std::path::Path) -> String {
    let name = page.strip_prefix(repository("")).expect("a page of the repository");
    name.to_string_lossy().replace('\\', "/")
}

#[test]
fn sentences_of_pages_and_help_are_short() {
    let helps = helps(&Folder::new(), &[]);
    assert!(helps.len() >= 25, "only {} commands were found", helps.len());
    let mut faults = Vec::new();
    for (name, help) in &helps {
        faults.extend(too_long(name, &blocks_of_help(help)));
    }
    let read: Vec<_> = pages().into_iter().filter(|page| for_binders(&name_of(page))).collect();
    assert!(read.len() >= 20, "only {} pages were found", read.len());
    for page in read {
        faults.extend(too_long(&name_of(&page), &blocks_of_page(&text_of(&page))));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn pages_and_help_have_none_of_the_habits() {
    let mut faults = Vec::new();
    for (name, help) in helps(&Folder::new(), &[]) {
        faults.extend(habits_in(&help).into_iter().map(|habit| format!("{name}: {habit:?}")));
    }
    for page in pages() {
        let name = name_of(&page);
        let page = text_of(&page);
        for block in blocks_of_page(&page).into_iter().chain(fenced_blocks(&page)) {
            let found = habits_in(&block).into_iter();
            faults.extend(found.map(|habit| format!("{name}: {habit:?} in {block}")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_sentence_and_a_habit_are_told_apart_from_what_only_looks_like_one() {
    let found = |text| sentences(text).iter().map(Vec::len).collect::<Vec<_>>();
    assert_eq!(found("It is 3.5 mm, e.g. today. *Then* it ends."), [6, 3]);
    assert_eq!(found("See `book.toml`. (It is small.) 20 rows"), [2, 3, 2]);
    assert_eq!(habits_in("It is\nno paper."), ["is no"]);
    assert_eq!(habits_in("a value that cannot be, and goods"), ["that cannot be"]);
    assert!(habits_in("a file that cannot be read is no longer amended").is_empty());
    let page = "# Is no\n\na | b\n\n```\nis no\n```\n- one\n- two\n\n| c | d |\n| --- | --- |\n";
    let blocks = blocks_of_page(page);
    let blocks: Vec<&str> = blocks.iter().map(|it| it.trim()).filter(|it| !it.is_empty()).collect();
    assert_eq!(blocks, ["a | b", "- one", "- two", "c", "d"]);
    assert_eq!(fenced_blocks(page), ["is no\n"]);
}
