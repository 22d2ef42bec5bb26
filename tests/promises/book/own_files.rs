//! The program's own files beside the rows. Links, pipes and devices in their place are refused,
//! and never followed or waited for. If the lock is removed, still only one program writes at a
//! time. Of several inits at once, one makes the book. Copies are not more open to others than what
//! they copy.
#![cfg(unix)]

use crate::support::folder::{Folder, PROGRAM, Run};
use crate::support::kept::kept;
use crate::support::mounted::finished;
use std::fs::{self, File, Permissions};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const TARGET: [&str; 4] = ["record", "target", "limp", "2..10"];

/// Runs the program with a limit of ten seconds, because one that waits for a pipe never ends.
fn run_in_time(folder: &Folder, args: &[&str]) -> Run {
    let mut command = Command::new("timeout");
    command.arg("10").arg(PROGRAM).arg("--book").arg(folder.path()).args(args);
    finished(command)
}

fn make_pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

/// Replaces the file `name` by links and a pipe in turn, and calls `look` for each. Nothing may be
/// written through them.
fn in_place_of(folder: &Folder, name: &str, look: impl Fn(&Path)) {
    let path = folder.path().join(name);
    let elsewhere = Folder::new();
    let victim = elsewhere.path().join("victim");
    fs::write(&victim, "precious\n").unwrap();
    let aside = elsewhere.path().join("aside");
    let was_there = fs::rename(&path, &aside).is_ok();
    let places: [&dyn Fn(); 4] = [
        &|| symlink(&victim, &path).unwrap(),
        &|| symlink(elsewhere.path().join("nowhere"), &path).unwrap(),
        &|| make_pipe(&path),
        &|| symlink("/dev/zero", &path).unwrap(),
    ];
    for place in places {
        place();
        look(&path);
        assert_eq!(
            fs::read_to_string(&victim).unwrap(),
            "precious\n",
            "{name} was written through"
        );
        assert!(!elsewhere.path().join("nowhere").exists(), "{name} was made elsewhere");
        let _ = fs::remove_file(&path);
    }
    if was_there {
        fs::rename(&aside, &path).unwrap();
    }
}

#[test]
fn only_a_plain_file_is_accepted_as_one_of_the_programs_own() {
    let folder = Folder::with_trial();
    for name in ["book.lock", "book.journal", "book.digests"] {
        in_place_of(&folder, name, |_| {
            let run = run_in_time(&folder, &TARGET).ends(1);
            run.complains_of(&[name, "a link, a folder, a pipe or a device", "move this away"]);
            run_in_time(&folder, &["fit"]).complains_of(&[name, "move this away"]);
        });
    }
    run_in_time(&folder, &TARGET).ends(0);
}

#[test]
fn a_temporary_file_is_never_written_through_a_link() {
    for name in ["book.digests.new", "readings.backup-1.csv.new"] {
        let folder = Folder::with_trial();
        in_place_of(&folder, name, |path| {
            folder.write("readings.csv", format!("{}T1,sew", folder.read("readings.csv")));
            run_in_time(&folder, &["strike", "target", "rounded", "--reason", "a try"]).ends(0);
            run_in_time(&folder, &["record", "target", "rounded", "12..22"]).ends(0);
            assert!(path.symlink_metadata().is_err(), "{name} stays behind");
            for copy in ["readings.backup-1.csv", "readings.set-aside.csv"] {
                fs::remove_file(folder.path().join(copy)).unwrap();
            }
        });
    }
}

#[test]
fn a_row_is_never_set_aside_through_a_link() {
    let folder = Folder::with_trial();
    in_place_of(&folder, "readings.set-aside.csv", |_| {
        let torn = format!("{}T1,sew", folder.read("readings.csv"));
        folder.write("readings.csv", &torn);
        run_in_time(&folder, &TARGET).ends(1).complains_of(&["readings.set-aside.csv", "a link"]);
        assert_eq!(folder.read("readings.csv"), torn);
        folder.write("readings.csv", torn.strip_suffix("T1,sew").unwrap());
    });
}

#[test]
fn a_pipe_in_the_place_of_the_rows_is_refused_at_once() {
    let folder = Folder::with_trial();
    let rows = folder.read("papers.csv");
    let path = folder.path().join("papers.csv");
    fs::remove_file(&path).unwrap();
    make_pipe(&path);
    for args in [&TARGET[..], &["fit"], &["audit"]] {
        run_in_time(&folder, args).ends(6).complains_of(&["papers.csv", "a pipe"]);
    }
    fs::remove_file(&path).unwrap();
    folder.write("papers.csv", rows);
    run_in_time(&folder, &TARGET).ends(0);
}

#[test]
fn nothing_is_written_into_the_lock() {
    let folder = Folder::with_trial();
    let before = fs::metadata(folder.path().join("book.lock")).unwrap();
    folder.run(&TARGET).ends(0);
    let after = fs::metadata(folder.path().join("book.lock")).unwrap();
    assert_eq!((after.len(), after.modified().unwrap()), (0, before.modified().unwrap()));
    let ignored = folder.read(".gitignore");
    for name in ["book.lock", "book.journal", "book.digests"] {
        assert!(ignored.lines().any(|line| line == name), "{name} is not in {ignored}");
    }
}

#[test]
fn an_ignore_file_of_the_binders_own_stays_as_it_is() {
    let folder = Folder::new();
    folder.write(".gitignore", "photographs/\n");
    folder.run(&["init", "."]).ends(0);
    assert_eq!(folder.read(".gitignore"), "photographs/\n");
}

/// Starts a command, and returns it after long enough for it to be waiting for the lock.
fn waiting(folder: &Folder, args: &[&str]) -> std::process::Child {
    let mut command = folder.command(PROGRAM);
    command.args(args).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    std::thread::sleep(Duration::from_millis(300));
    assert!(child.try_wait().unwrap().is_none(), "it did not wait for the lock");
    child
}

#[test]
fn a_lock_that_was_replaced_while_it_was_held_still_holds() {
    let folder = Folder::with_trial();
    let held = File::open(folder.path()).unwrap();
    held.lock().unwrap();
    for take_away in [true, false] {
        fs::remove_file(folder.path().join("book.lock")).unwrap();
        if !take_away {
            folder.write("book.lock", "");
        }
        let name = format!("after {take_away}");
        let child = waiting(&folder, &["record", "target", &name, "1..2"]);
        held.unlock().unwrap();
        assert!(child.wait_with_output().unwrap().status.success());
        held.lock().unwrap();
        assert!(folder.read("targets.csv").contains(&name));
    }
}

#[test]
fn an_init_that_waited_leaves_the_book_that_another_made_meanwhile() {
    let (folder, other) = (Folder::new(), Folder::with_trial());
    let held = File::open(folder.path()).unwrap();
    held.lock().unwrap();
    let slow = waiting(&folder, &["init", "."]);
    for (path, bytes) in other.bytes() {
        folder.write(&path.file_name().unwrap().to_string_lossy(), bytes);
    }
    let before = folder.bytes();
    held.unlock().unwrap();
    let output = slow.wait_with_output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{err}");
    assert!(output.stdout.is_empty() && err.contains("already holds a book"), "{err}");
    assert_eq!(folder.bytes(), before);
}

#[test]
fn of_several_inits_at_once_one_makes_the_book() {
    for round in 0..10 {
        let folder = Folder::new();
        let codes: Vec<i32> = std::thread::scope(|scope| {
            let inits = [(); 4].map(|()| scope.spawn(|| folder.run(&["init", "bench"]).code));
            inits.into_iter().map(|init| init.join().unwrap()).collect()
        });
        let made = codes.iter().filter(|code| **code == 0).count();
        assert_eq!((made, codes.len()), (1, 4), "round {round}: {codes:?}");
        assert!(codes.iter().all(|code| [0, 1].contains(code)), "round {round}: {codes:?}");
        assert_eq!(kept(&folder.path().join("bench")).len(), 6, "round {round}");
    }
}

/// A limit on the size of files stops the init in the middle.
#[cfg(target_os = "linux")]
#[test]
fn an_init_that_fails_takes_away_only_what_it_made() {
    let folder = Folder::new();
    // The beginning of the file, as a stopped init leaves it.
    folder.write("papers.csv", "paper,gram");
    let mut command = Command::new("sh");
    let script = "trap '' XFSZ; exec prlimit --core=0 --fsize=200 \"$@\"";
    command.args(["-c", script, "sh", PROGRAM, "init"]).arg(folder.path());
    finished(command).ends(1).complains_of(&["targets.csv", "File too large", "nothing was saved"]);
    let names: Vec<_> =
        fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(names, ["papers.csv"]);
    folder.run(&["init", "."]).ends(0);
    folder.run(&["audit"]).ends(0);
}

#[test]
fn an_init_leaves_somebody_elses_files_alone() {
    for name in ["book.toml.new", "papers.csv", "book.digests", "book.journal"] {
        let folder = Folder::new();
        folder.write(name, "my own notes\n");
        let run = folder.run(&["init", "."]).ends(1);
        run.complains_of(&[name, "already exists, and a new book needs that name"]);
        assert_eq!(folder.read(name), "my own notes\n");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "{name}");
        // Nor is an empty file written through a second name.
        let elsewhere = Folder::new();
        fs::write(elsewhere.path().join("empty"), "").unwrap();
        fs::remove_file(folder.path().join(name)).unwrap();
        fs::hard_link(elsewhere.path().join("empty"), folder.path().join(name)).unwrap();
        folder.run(&["init", "."]).ends(1);
        assert_eq!(fs::read(elsewhere.path().join("empty")).unwrap(), b"", "{name}");
    }
    let folder = Folder::new();
    folder.run(&["init", "/dev/null/bench"]).ends(1).complains_of(&["Not a directory"]);
}

#[test]
fn a_journal_that_somebody_else_wrote_is_not_emptied() {
    let folder = Folder::with_trial();
    folder.write("book.journal", "my own notes\n");
    folder.run(&TARGET).ends(6).complains_of(&["book.journal", "move it away"]);
    assert_eq!(folder.read("book.journal"), "my own notes\n");
    fs::remove_file(folder.path().join("book.journal")).unwrap();
    folder.run(&TARGET).ends(0);
}

#[test]
fn two_torn_lines_that_end_alike_are_both_set_aside() {
    let folder = Folder::with_trial();
    for torn in ["T11,sewn,1", "1,sewn,1"] {
        folder.write("readings.csv", format!("{}{torn}", folder.read("readings.csv")));
        folder.run(&["record", "target", torn, "1..2"]).ends(0);
    }
    assert_eq!(folder.read("readings.set-aside.csv"), "T11,sewn,1\n1,sewn,1\n");
}

#[test]
fn copies_are_no_more_open_to_others_than_what_they_copy() {
    let folder = Folder::with_trial();
    let mode =
        |name: &str| folder.path().join(name).metadata().unwrap().permissions().mode() & 0o777;
    let set = |name: &str, mode| {
        fs::set_permissions(folder.path().join(name), Permissions::from_mode(mode)).unwrap();
    };
    folder.write("readings.set-aside.csv", "from before\n");
    set("readings.csv", 0o600);
    set("book.digests", 0o640);
    folder.write("readings.csv", format!("{}T1,sew", folder.read("readings.csv")));
    folder.run(&TARGET).ends(0);
    assert_eq!(mode("readings.set-aside.csv"), 0o600);
    assert_eq!(mode("readings.backup-1.csv"), 0o600);
    assert_eq!(mode("book.digests"), 0o640);
    for there in [true, false] {
        if !there {
            fs::remove_file(folder.path().join("book.journal")).unwrap();
        }
        folder.run(&["record", "readings", "T1", "--state", "sewn", "--spine", "11"]).ends(0);
        assert_eq!(mode("book.journal"), 0o600, "it holds readings while they are written");
    }
}

/// Some programs save a file piece by piece.
#[test]
fn a_file_that_is_being_saved_is_waited_for() {
    let folder = Folder::with_trial();
    let rows: String =
        (1..=40).map(|place| format!("T1,sewn,{place},11.0,8.1,2026-03-01,by hand\n")).collect();
    let whole = format!("{}{rows}", folder.read("readings.csv"));
    let (first, rest) = whole.split_at(whole.len() / 2);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            use std::io::Write;
            let mut file = File::create(folder.path().join("readings.csv")).unwrap();
            file.write_all(first.as_bytes()).unwrap();
            std::thread::sleep(Duration::from_millis(350));
            file.write_all(rest.as_bytes()).unwrap();
        });
        std::thread::sleep(Duration::from_millis(100));
        let args = ["record", "readings", "T1", "--state", "knocked", "--spine", "10.5"];
        folder.run(&args).ends(0);
    });
    assert_eq!(folder.read("readings.csv"), format!("{whole}T1,knocked,1,10.5,,2026-03-01,\n"));
    assert!(!folder.path().join("readings.set-aside.csv").exists());
}
