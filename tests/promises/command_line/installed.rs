//! What is installed with the program: completions and manual pages, made from the same
//! descriptions as the help, and the packages that hold them.

use crate::support::folder::{Folder, PROGRAM};
use crate::support::{repository, repository_text};
use clap::Command;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Output;

/// Whether a program is installed; if not, it says so. In continuous integration it must be.
fn is_there(program: &str) -> bool {
    let found = std::process::Command::new(program).arg("--version").output().is_ok();
    assert!(found || std::env::var_os("CI").is_none(), "{program} is missing");
    if !found {
        eprintln!("not tried, because {program} is missing");
    }
    found
}

fn text(output: &Output) -> String {
    assert!(output.status.success(), "{output:?}");
    assert!(output.stderr.is_empty(), "{output:?}");
    String::from_utf8(output.stdout.clone()).expect("text")
}

/// The completion script of a shell, in a file of a folder.
fn script(shell: &str) -> (Folder, std::path::PathBuf) {
    let folder = Folder::new();
    let script = folder.run(&["completions", shell]).ends(0).out;
    folder.write("script", script);
    let path = folder.path().join("script");
    (folder, path)
}

/// What is typed, and how Tab completes the last word. To add a row: both.
const TYPED: [(&[&str], &[&str]); 9] = [
    (&["pre"], &["predict"]),
    (&["record", "pa"], &["paper"]),
    (&["--book", "x", "mid"], &["midway"]),
    (&["predict", "--pap"], &["--paper"]),
    (&["chart", "hist"], &["history"]),
    (&["record", "trial", "--kind", "bl"], &["block"]),
    (&["strike", "tri"], &["trial"]),
    (&["completions", "fi"], &["fish"]),
    (&["init", "--unit", ""], &["in", "mm", "thou", "um"]),
];

/// Calls the completion function as bash does, with the variables that bash sets (bash(1),
/// "Programmable Completion").
#[test]
fn tab_completes_commands_options_and_values_in_bash() {
    const CALL: &str = r#"source "$1"; shift
        [[ "$(complete -p swellbook)" =~ -F\ ([^ ]+) ]] || exit 1
        COMP_WORDS=(swellbook "$@"); COMP_CWORD=$#
        "${BASH_REMATCH[1]}" swellbook "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
        printf '%s\n' "${COMPREPLY[@]}""#;
    if !is_there("bash") {
        return;
    }
    let (folder, path) = script("bash");
    for (words, wanted) in TYPED {
        let mut bash = folder.command("bash");
        bash.args(["--norc", "-c", CALL, "bash"]).arg(&path).args(words);
        let out = text(&bash.output().expect("bash runs"));
        let mut found: Vec<&str> = out.lines().collect();
        found.sort_unstable();
        assert_eq!(found, wanted, "{words:?}");
    }
}

#[test]
fn tab_completes_commands_options_and_values_in_fish() {
    if !is_there("fish") {
        return;
    }
    let (folder, path) = script("fish");
    for (words, wanted) in TYPED {
        let mut fish = folder.command("fish");
        let line = ["swellbook", &words.join(" ")].join(" ");
        let call = format!("source '{}'; complete -C '{line}'", path.display());
        let out = text(&fish.args(["--no-config", "-c", &call]).output().expect("fish runs"));
        let found: Vec<&str> = out.lines().filter_map(|line| line.split('\t').next()).collect();
        assert_eq!(found, wanted, "{words:?}");
    }
}

/// Types into a zsh at a terminal, presses Tab and Enter, and reads which command ran.
#[test]
fn tab_completes_commands_options_and_values_in_zsh() {
    if !is_there("zsh") {
        return;
    }
    let (folder, path) = script("zsh");
    std::fs::rename(path, folder.path().join("_swellbook")).expect("a script");
    let mut zsh = rexpect::spawn("env TERM=dumb PS1=ready: zsh -f -i", Some(60_000)).expect("zsh");
    let dir = folder.path().display();
    let begin = format!("fpath=('{dir}' $fpath); autoload -Uz compinit; compinit -u -D");
    zsh.send_line(&begin).expect("a line");
    zsh.send_line("swellbook() { print -r -- \"ran:$*:\" }").expect("a line");
    // If several values fit, zsh shows a list and waits.
    for (words, wanted) in TYPED.into_iter().filter(|(_, wanted)| wanted.len() == 1) {
        zsh.send(&format!("swellbook {}\t\n", words.join(" "))).expect("a line");
        zsh.flush().expect("a line");
        let (all_but_last, wanted) = (&words[..words.len() - 1], wanted[0]);
        let whole = [all_but_last, &[wanted]].concat().join(" ");
        zsh.exp_string(&format!("ran:{whole}:")).unwrap_or_else(|why| panic!("{whole}: {why}"));
    }
    zsh.send_line("exit").expect("a line");
    zsh.exp_eof().expect("an end");
}

/// Every command with its words after `swellbook`.
fn commands(command: &Command, words: &[&str], found: &mut Vec<(Vec<String>, Command)>) {
    found.push((words.iter().map(|&word| word.to_owned()).collect(), command.clone()));
    for inner in command.get_subcommands().filter(|inner| inner.get_name() != "help") {
        commands(inner, &[words, &[inner.get_name()]].concat(), found);
    }
}

fn all_commands() -> Vec<(Vec<String>, Command)> {
    let (mut program, mut all) = (swellbook::commands::command_line(), Vec::new());
    program.build();
    commands(&program, &[], &mut all);
    assert!(all.len() > 20);
    all
}

#[test]
fn every_command_has_a_manual_page_that_names_all_its_options() {
    const SECTIONS: [&str; 9] = [
        "NAME",
        "SYNOPSIS",
        "DESCRIPTION",
        "EXAMPLES",
        "OPTIONS",
        "EXIT STATUS",
        "ENVIRONMENT",
        "FILES",
        "SEE ALSO",
    ];
    let folder = Folder::new();
    folder.run(&["man", "--out", "pages"]).ends(0);
    let mut files: BTreeSet<_> = folder.holds().into_keys().collect();
    for (words, command) in all_commands() {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let page = folder.run(&[&["man"], &words[..]].concat()).ends(0).out;
        let file = format!("pages/{}.1", [&["swellbook"], &words[..]].concat().join("-"));
        assert!(files.remove(Path::new(&file)), "no page {file}");
        assert_eq!(folder.read(&file), page);
        let plain = page.replace("\\-", "-").replace("\\*(Aq", "'");
        for arg in command.get_arguments().filter(|arg| arg.get_id() != "help") {
            let names = arg.get_long_and_visible_aliases().unwrap_or_default();
            for name in names {
                assert!(plain.contains(&format!("--{name}")), "{file} lacks --{name}");
            }
            let help = arg.get_help().expect("help").to_string();
            assert!(plain.contains(&help), "{file} lacks {help:?}");
        }
        let sections: Vec<&str> = page.lines().filter_map(|it| it.strip_prefix(".SH ")).collect();
        let known = sections.iter().map(|it| it.trim_matches('"'));
        let known = known.filter(|it| SECTIONS.contains(it));
        assert_eq!(known.collect::<Vec<_>>(), SECTIONS, "{file}");
    }
    assert!(files.is_empty(), "pages of no command: {files:?}");
}

/// A page is the same on every day and in every folder, so that a package can be reproduced.
#[test]
fn a_manual_page_depends_on_the_version_alone() {
    let folder = Folder::with_trial();
    let page = folder.run(&["man", "plan"]).ends(0).out;
    let elsewhere = Folder::new()
        .command(PROGRAM)
        .args(["man", "plan"])
        .env("SWELLBOOK_TODAY", "2031-01-01")
        .output();
    assert_eq!(text(&elsewhere.expect("it runs")), page);
    let version = env!("CARGO_PKG_VERSION");
    let head = format!(".TH swellbook-plan 1 \"\" \"swellbook {version}\" Swellbook");
    assert!(page.lines().any(|line| line == head), "{page}");
}

#[test]
fn manual_pages_are_set_without_a_warning() {
    if !is_there("groff") {
        return;
    }
    let folder = Folder::new();
    folder.run(&["man", "--out", "."]).ends(0);
    for name in folder.holds().keys() {
        let mut groff = folder.command("groff");
        let groff = groff.args(["-man", "-Kutf8", "-Tutf8", "-ww"]).arg(name);
        let page = text(&groff.output().expect("groff runs"));
        assert!(page.lines().count() > 40, "{}: {page}", name.display());
    }
}

#[test]
fn a_page_of_no_command_gets_what_was_meant() {
    let folder = Folder::new();
    folder.run(&["man", "recrod", "trial"]).ends(2).complains_of(&["did you mean 'record trial'?"]);
    folder.run(&["man", "../x y\u{1b}"]).ends(2).complains_of(&["`swellbook --help` lists"]);
    folder.run(&["man", "fit", "--out", "x"]).ends(2).complains_of(&["cannot be combined"]);
    folder
        .run(&["completions", "csh"])
        .ends(2)
        .complains_of(&["one of bash, zsh, fish, powershell"]);
    assert!(folder.bytes().is_empty());
}

#[test]
fn manual_pages_replace_nothing_that_the_program_did_not_write() {
    let folder = Folder::with_trial();
    folder.put(&[("pages/swellbook-fit.1".into(), b"notes of my own".to_vec())].into());
    folder.write("taken", "a file");
    let before = folder.bytes();
    let args = ["man", "--out", "pages"];
    folder.run(&args).ends(3).complains_of(&["swellbook-fit.1", "--replace"]);
    folder.run(&["man", "--out", "taken"]).ends(1).complains_of(&["taken", "cannot be made"]);
    assert_eq!(folder.bytes(), before);
    folder.run(&[&args[..], &["--replace"]].concat()).ends(0);
    // Now all files are its own.
    let run = folder.run(&args).ends(0);
    assert!(
        run.out.starts_with("wrote ") && run.out.ends_with(" manual pages to pages\n"),
        "{}",
        run.out
    );
}

/// The package lists generated files by pattern, so that none is forgotten.
#[test]
fn the_package_holds_every_page_and_completion() {
    let manifest = repository_text("Cargo.toml");
    let manifest: toml::Table = manifest.parse().expect("Cargo.toml is TOML");
    let assets = manifest["package"]["metadata"]["deb"]["assets"].as_array().expect("assets");
    let source = |asset: &toml::Value| asset[0].as_str().expect("a path").to_owned();
    let sources: Vec<String> = assets.iter().map(source).collect();
    let dist = repository_text(".ci/dist");
    for made in ["swellbook", "man/*.1", "completions/swellbook", "completions/_swellbook"] {
        assert!(sources.iter().any(|it| it.ends_with(&format!("stage/{made}"))), "{made}");
    }
    for asset in &sources {
        match asset.strip_prefix("target/package/stage/") {
            // The script must make it: a folder for a pattern, or a file by its name.
            Some(made) => {
                let made = made.trim_end_matches("/*.1").trim_end_matches(".gz");
                assert!(dist.contains(&format!("$stage/{made}\"")), "{made} is not made");
            }
            None => {
                let plain = asset.trim_end_matches("/**/*");
                assert!(Path::new(&repository(plain)).exists(), "{asset} does not exist");
            }
        }
    }
}
