//! Pages, pictures and tables never replace a file of a book, nor a file that the program did not
//! write.

use crate::support::folder::{Folder, PROGRAM, Run};
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use swellbook::book::is_book_file;

const PAGE: [&str; 2] = ["report", "--out"];
const PICTURE: [&str; 3] = ["chart", "factors", "--out"];
const DRAWS: [&str; 3] = ["export", "--draws", "--out"];
const READINGS: [&str; 3] = ["export", "--readings", "--out"];
const OBSERVATIONS: [&str; 3] = ["export", "--observations", "--out"];

/// A book in the folder `bench`, with a file of every kind that the program may make in it.
fn bench() -> Folder {
    let folder = Folder::new();
    folder.run(&["init", "bench"]).ends(0);
    folder.run(&["--book", "bench", "record", "paper", "bond", "--caliper", "0.1mm"]).ends(0);
    for name in
        ["papers.set-aside.csv", "journal.set-aside.txt", "trials.backup-3.csv", ".gitignore"]
    {
        folder.write(&format!("bench/{name}"), "kept\n");
    }
    folder
}

fn written(folder: &Folder, command: &[&str], rest: &[&str]) -> Run {
    folder.run(&[&["--book", "bench"], command, rest].concat())
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
    let mut names: Vec<String> = entries.map(|entry| name(entry.expect("an entry"))).collect();
    names.sort();
    names
}

#[test]
fn no_file_of_a_book_is_written_over_by_its_name() {
    let folder = bench();
    let before = folder.bytes();
    for name in names(&folder.path().join("bench")) {
        assert!(is_book_file(&name), "{name}");
        for name in [name.clone(), name.to_uppercase(), format!("{name}.new")] {
            for way in [format!("bench/{name}"), format!("bench/../bench/./{name}")] {
                for command in [&PAGE[..], &PICTURE, &DRAWS, &READINGS] {
                    let run = written(&folder, command, &[&way, "--replace"]).ends(3);
                    run.complains_of(&["--out", &name, "belongs to a book"]);
                }
            }
        }
    }
    // From inside the book, as at the bench.
    let mut inside = folder.command(PROGRAM);
    inside.current_dir(folder.path().join("bench")).args(PAGE).arg("readings.csv");
    assert_eq!(inside.output().expect("the program runs").status.code(), Some(3));
    assert_eq!(folder.bytes(), before);
}

fn books(folder: &Folder) -> Vec<(String, Vec<u8>)> {
    let inside = |book: &str| {
        let book = folder.path().join(book);
        let read = |name: String| (name.clone(), fs::read(book.join(name)).expect("a file"));
        names(&book).into_iter().map(read).collect::<Vec<_>>()
    };
    [inside("bench"), inside("other")].concat()
}

#[test]
fn no_link_leads_a_picture_into_a_book() {
    let folder = bench();
    folder.run(&["init", "other"]).ends(0);
    let at = |name: &str| folder.path().join(name);
    symlink("bench/readings.csv", at("soft.svg")).unwrap();
    symlink("soft.svg", at("soft-of-soft.svg")).unwrap();
    symlink(at("bench"), at("folder")).unwrap();
    symlink("folder/../bench/book.journal", at("around.svg")).unwrap();
    symlink("bench/papers.csv.new", at("dangling.svg")).unwrap();
    symlink("bench/papers.backup-1.csv", at("backup.svg")).unwrap();
    symlink("other/struck.csv", at("elsewhere.svg")).unwrap();
    fs::hard_link(at("bench/book.toml"), at("hard.svg")).unwrap();
    fs::hard_link(at("other/book.digests"), at("other/hard.svg")).unwrap();
    // A file of the book that is itself a link, because somebody keeps the rows elsewhere.
    fs::rename(at("bench/trials.csv"), at("rows.txt")).unwrap();
    symlink("../rows.txt", at("bench/trials.csv")).unwrap();
    symlink("rows.txt", at("through.svg")).unwrap();
    let before = books(&folder);
    for name in [
        "soft.svg",
        "soft-of-soft.svg",
        "around.svg",
        "dangling.svg",
        "backup.svg",
        "elsewhere.svg",
        "hard.svg",
        "other/hard.svg",
        "through.svg",
    ] {
        for more in [&[][..], &["--replace"]] {
            let run = written(&folder, &PICTURE, &[&[name], more].concat()).ends(3);
            run.complains_of(&["--out", name, "belongs to a book"]);
        }
    }
    symlink("round.svg", at("round.svg")).unwrap();
    written(&folder, &PICTURE, &["round.svg"]).ends(1).complains_of(&["round.svg"]);
    assert_eq!(books(&folder), before);
    assert!(!at("bench/papers.csv.new").exists() && !at("bench/papers.backup-1.csv").exists());
}

#[test]
fn somebody_elses_file_is_replaced_only_when_asked_for() {
    let folder = bench();
    for (command, name, other) in [
        (&PAGE[..], "a.html", "<!DOCTYPE html>\n<p>notes on swellbook</p>"),
        (&PAGE, "b.HTM", "x"),
        (&PICTURE, "a.svg", "<svg><desc>swellbook</desc></svg>"),
        (&PICTURE, "a.png", "\u{89}PNG"),
        (&DRAWS, "a.csv", "draw,weight\n1,1\n"),
        (&DRAWS, "a.json", "[{\"draw\":1}]\n"),
        (&READINGS, "a.arrow", "ARROW1\0\0reading"),
        (&READINGS, "b.csv", "reading,trial\n"),
        (&OBSERVATIONS, "b.json", "{\"swellbook_observation\":[]}"),
        (&OBSERVATIONS, "b.arrow", "x"),
    ] {
        folder.write(name, other);
        let refused = written(&folder, command, &[name]).ends(3);
        refused.complains_of(&["--out", name, "swellbook may not have made it", "--replace"]);
        assert_eq!(folder.read(name), other);
        written(&folder, command, &[name, "--replace"]).ends(0);
        let first = fs::read(folder.path().join(name)).unwrap();
        assert_ne!(first, other.as_bytes());
        // From now on the file is the program's own.
        written(&folder, command, &[name]).ends(0);
        assert_eq!(fs::read(folder.path().join(name)).unwrap(), first);
        folder.write(name, "");
        written(&folder, command, &[name]).ends(0);
        assert_eq!(fs::read(folder.path().join(name)).unwrap(), first);
    }
}

#[test]
fn a_page_has_the_ending_of_a_page() {
    let folder = bench();
    let before = names(folder.path());
    for name in ["page", "page.txt", "page.csv", "page.html.gz", ".html", "page.svg"] {
        let run = written(&folder, &PAGE, &[name]).ends(3);
        run.complains_of(&["--out", &format!("'{name}' does not end in .html or .htm")]);
    }
    written(&folder, &PAGE, &["nowhere/page.html"]).ends(1).complains_of(&["nowhere/page.html"]);
    assert_eq!(names(folder.path()), before);
}

#[test]
fn a_replaced_file_keeps_its_mode_and_its_link() {
    let folder = bench();
    let mode = |name: &str| {
        fs::metadata(folder.path().join(name)).expect(name).permissions().mode() & 0o777
    };
    written(&folder, &PAGE, &["page.html"]).ends(0);
    written(&folder, &PICTURE, &["fresh.svg"]).ends(0);
    assert_eq!(mode("page.html"), mode("fresh.svg"), "a new file is as any new file");
    symlink("page.html", folder.path().join("link.html")).unwrap();
    for wanted in [0o600, 0o640, 0o666] {
        let permissions = fs::Permissions::from_mode(wanted);
        fs::set_permissions(folder.path().join("page.html"), permissions).unwrap();
        written(&folder, &PAGE, &["link.html"]).ends(0);
        assert_eq!(mode("page.html"), wanted);
    }
    assert!(folder.path().join("link.html").is_symlink());
}

#[test]
fn the_next_run_removes_what_a_killed_one_left_but_not_what_another_is_writing() {
    let folder = bench();
    folder.write(".page.html.swellbook-4000000-0", "half of a page");
    folder.write(".page.html.swellbook-4000001-0", "half of another's");
    let path = folder.path().join(".page.html.swellbook-4000001-0");
    let other = fs::File::open(&path).unwrap();
    other.lock().unwrap();
    written(&folder, &PAGE, &["page.html"]).ends(0);
    assert_eq!(names(folder.path()), [".page.html.swellbook-4000001-0", "bench", "page.html"]);
    assert!(folder.read("page.html").trim_end().ends_with("</html>"));
    drop(other);
    written(&folder, &PAGE, &["page.html"]).ends(0);
    assert_eq!(names(folder.path()), ["bench", "page.html"]);
}

/// A running program that writes the page.
fn reporting(folder: &Folder) -> Child {
    let mut command = folder.command(PROGRAM);
    command.args(["--book", "bench", "report", "--out", "page.html"]).stdout(Stdio::null());
    command.spawn().expect("the program runs")
}

/// The program is killed at any moment of a run. The page is then the old or the new one, whole.
#[test]
fn a_page_is_whole_whenever_the_program_is_killed() {
    let folder = bench();
    written(&folder, &PAGE, &["page.html"]).ends(0);
    let whole = folder.read("page.html");
    for turn in 0..25 {
        let mut child = reporting(&folder);
        let began = std::time::Instant::now();
        // Wait for the temporary file, so that the program is killed while it writes.
        while names(folder.path()).len() < 3 && child.try_wait().expect("a child").is_none() {
            assert!(began.elapsed() < std::time::Duration::from_secs(60));
        }
        std::thread::sleep(std::time::Duration::from_micros(40 * turn));
        child.kill().and_then(|()| child.wait()).expect("it is killed");
        assert_eq!(folder.read("page.html"), whole, "turn {turn}");
    }
    written(&folder, &PAGE, &["page.html"]).ends(0);
    assert_eq!(names(folder.path()), ["bench", "page.html"]);
}

#[test]
fn many_runs_to_one_place_at_once_leave_one_whole_page() {
    let folder = bench();
    written(&folder, &PAGE, &["page.html"]).ends(0);
    let whole = folder.read("page.html");
    let children: Vec<_> = (0..8).map(|_| reporting(&folder)).collect();
    for mut child in children {
        assert!(child.wait().expect("it ends").success());
        assert_eq!(folder.read("page.html"), whole);
    }
    assert_eq!(names(folder.path()), ["bench", "page.html"]);
}

#[test]
fn a_picture_goes_into_a_pipe() {
    let folder = bench();
    let pipe = folder.path().join("pipe");
    let made = Command::new("mkfifo").arg(&pipe).status().expect("mkfifo");
    assert!(made.success());
    for command in [&PAGE[..], &PICTURE] {
        let path = pipe.clone();
        let reader = std::thread::spawn(move || fs::read_to_string(path).expect("a pipe"));
        written(&folder, command, &["pipe"]).ends(0);
        assert!(reader.join().expect("a reader").len() > 100);
    }
    written(&folder, &PICTURE, &["/dev/null"]).ends(0);
    assert_eq!(names(folder.path()), ["bench", "pipe"]);
}
