//! What README and the pages of docs/ say is what the program does.
//!
//! Every ```` ```console ```` block is run as a person would run it, page by page, each page in a
//! fresh folder. A line that begins with `$ ` is a command, the lines below it are its output (both
//! streams, as at a terminal), and a line `…` matches any lines. A block such as
//! ```` ```csv sheet.csv ```` is put into the folder as a file. A comment
//! `<!-- first: COMMAND -->` is a command that the reader has already run; in it `$DATASETS` is the
//! folder of datasets, whose files the reader has from elsewhere.
//!
//! With `SWELLBOOK_TEXTS=write`, outputs that differ are written into the pages instead, so that a
//! person can review the difference.

use crate::support::folder::{Files, Folder, PROGRAM};
use crate::support::{repository, repository_files};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// A line that matches any lines.
const ANY: &str = "…";

/// Every page, README first.
pub fn pages() -> Vec<PathBuf> {
    let mut found = vec![repository("README.md"), repository("DEVELOPERS.md")];
    found.extend([repository("CHANGELOG.md"), repository("SECURITY.md")]);
    found.extend(repository_files("docs", "md"));
    found
}

pub fn text_of(page: &Path) -> String {
    std::fs::read_to_string(page).unwrap_or_else(|error| panic!("{}: {error}", page.display()))
}

/// Whether differing output is to be written into the pages.
pub fn is_writing() -> bool {
    std::env::var_os("SWELLBOOK_TEXTS").is_some_and(|value| value == "write")
}

/// A page in pieces, in its own order; joined, they are the page.
enum Piece {
    /// Lines that are not run.
    Prose(Vec<String>),
    /// A command that the reader has already run, in a comment.
    First(String),
    /// A file that the reader has: its name and lines.
    File(String, Vec<String>),
    /// A command as written, and the output shown below it.
    Command(Vec<String>, Vec<String>),
}

/// Takes lines up to a fence, without the fence.
fn until_fence<'a>(lines: &mut std::iter::Peekable<std::str::Lines<'a>>) -> Vec<&'a str> {
    let mut taken = Vec::new();
    while let Some(line) = lines.next_if(|line| *line != "```") {
        taken.push(line);
    }
    taken
}

fn owned(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|&line| line.to_owned()).collect()
}

/// The commands of a console block, with the outputs below them.
fn commands(lines: &[&str]) -> Vec<Piece> {
    let mut pieces: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    let mut goes_on = false;
    for &line in lines {
        if line.starts_with("$ ") {
            pieces.push((vec![line.to_owned()], Vec::new()));
        } else {
            let last = pieces.last_mut().expect("a console block begins with a command");
            if goes_on { &mut last.0 } else { &mut last.1 }.push(line.to_owned());
        }
        goes_on = (line.starts_with("$ ") || goes_on) && line.ends_with('\\');
    }
    pieces.into_iter().map(|(command, output)| Piece::Command(command, output)).collect()
}

fn pieces(text: &str) -> Vec<Piece> {
    let mut lines = text.lines().peekable();
    let mut found = Vec::new();
    while let Some(line) = lines.next() {
        let first = line.strip_prefix("<!-- first: ").and_then(|rest| rest.strip_suffix(" -->"));
        if let Some(command) = first {
            found.push(Piece::First(command.to_owned()));
            continue;
        }
        found.push(Piece::Prose(vec![line.to_owned()]));
        let Some(kind) = line.strip_prefix("```").filter(|kind| !kind.is_empty()) else { continue };
        let inside = until_fence(&mut lines);
        match (kind, kind.split_once(' ')) {
            ("console", _) => found.extend(commands(&inside)),
            (_, Some((_, name))) => found.push(Piece::File(name.to_owned(), owned(&inside))),
            (_, None) => found.push(Piece::Prose(owned(&inside))),
        }
        found.push(Piece::Prose(owned(&[lines.next().expect("a block that ends")])));
    }
    found
}

/// What a command printed and left behind, by the contents of its folder before it. The same
/// command in the same folder does the same, and most pages begin with the tour.
type Ran = HashMap<(Files, PathBuf, String), (Vec<String>, Files)>;

/// A folder in which commands are run one after the other, including `cd`.
struct Shell<'a> {
    folder: Folder,
    inside: PathBuf,
    ran: &'a mut Ran,
}

impl<'a> Shell<'a> {
    fn new(ran: &'a mut Ran) -> Self {
        Self { folder: Folder::new(), inside: PathBuf::new(), ran }
    }

    /// The lines that a command prints on both streams.
    fn run(&mut self, command: &str, page: &Path) -> Vec<String> {
        if let Some(dir) = command.strip_prefix("cd ") {
            self.inside.push(dir);
            assert!(
                self.folder.path().join(&self.inside).is_dir(),
                "{}: {command}",
                page.display()
            );
            return Vec::new();
        }
        let known = (self.folder.holds(), self.inside.clone(), command.to_owned());
        if let Some((printed, left)) = self.ran.get(&known) {
            self.folder = Folder::new();
            self.folder.put(left);
            return printed.clone();
        }
        let printed = self.run_anew(command, page);
        self.ran.insert(known, (printed.clone(), self.folder.holds()));
        printed
    }

    fn run_anew(&self, command: &str, page: &Path) -> Vec<String> {
        let programs = Path::new(PROGRAM).parent().expect("a folder");
        let path = std::env::var_os("PATH").unwrap_or_default();
        let folders = std::iter::once(programs.to_owned()).chain(std::env::split_paths(&path));
        let mut shell = self.folder.command("/bin/sh");
        shell.current_dir(self.folder.path().join(&self.inside));
        shell.env("PATH", std::env::join_paths(folders).expect("a list of folders"));
        shell.env("DATASETS", repository("datasets"));
        let both = format!("exec 2>&1\n{command}");
        let output = shell.arg("-c").arg(both).stdin(std::process::Stdio::null()).output();
        let output = output.expect("a shell");
        let text = String::from_utf8(output.stdout).expect("text");
        assert!(output.status.success(), "{}: $ {command}\n{text}", page.display());
        text.lines().map(str::to_owned).collect()
    }
}

/// Whether the shown lines match the printed ones.
fn agrees(shown: &[String], printed: &[String]) -> bool {
    let Some((head, rest)) = shown.split_first() else { return printed.is_empty() };
    if head == ANY {
        return (0..=printed.len()).any(|skipped| agrees(rest, &printed[skipped..]));
    }
    printed.first() == Some(head) && agrees(rest, &printed[1..])
}

/// Runs a page. Returns how it should read, how many commands it has, and where they differ.
fn run_page(page: &Path, ran: &mut Ran) -> (String, usize, Vec<String>) {
    let (mut shell, mut lines, mut faults, mut tried) =
        (Shell::new(ran), Vec::new(), Vec::new(), 0);
    for piece in pieces(&text_of(page)) {
        match piece {
            Piece::Prose(prose) => lines.extend(prose),
            Piece::First(command) => {
                shell.run(&command, page);
                lines.push(format!("<!-- first: {command} -->"));
            }
            Piece::File(name, content) => {
                let path = shell.inside.join(name);
                shell.folder.write(&path.to_string_lossy(), content.join("\n") + "\n");
                lines.extend(content);
            }
            Piece::Command(command, shown) => {
                tried += 1;
                let printed = shell.run(&command.join("\n")[2..], page);
                lines.extend(command.iter().cloned());
                if shown.is_empty() || agrees(&shown, &printed) {
                    lines.extend(shown);
                    continue;
                }
                faults.push(format!(
                    "{}: {}\nshown:\n{}\nprinted:\n{}\n",
                    page.display(),
                    command.join("\n"),
                    shown.join("\n"),
                    printed.join("\n")
                ));
                lines.extend(if shown.iter().any(|line| line == ANY) { shown } else { printed });
            }
        }
    }
    (lines.join("\n") + "\n", tried, faults)
}

#[test]
fn every_command_of_the_texts_works_and_prints_what_is_shown() {
    let (write, mut tried, mut faults, mut ran) = (is_writing(), 0, Vec::new(), Ran::new());
    for page in pages() {
        let (text, commands, differing) = run_page(&page, &mut ran);
        if write && !differing.is_empty() {
            std::fs::write(&page, text).expect("the page can be written");
        } else if differing.is_empty() {
            assert_eq!(text, text_of(&page), "{} was not taken apart rightly", page.display());
        }
        tried += commands;
        faults.extend(differing);
    }
    assert!(tried >= 70, "only {tried} commands were found");
    assert!(write || faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_line_of_dots_stands_for_any_lines_and_nothing_else_does() {
    let lines = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
    assert!(agrees(&lines("a … c"), &lines("a b b c")));
    assert!(agrees(&lines("… c"), &lines("c")));
    assert!(!agrees(&lines("a b"), &lines("a b c")));
    assert!(!agrees(&lines("a … d"), &lines("a b c")));
}
