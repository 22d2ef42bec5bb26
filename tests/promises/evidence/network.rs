//! No command but `bench` opens a socket, and no command looks up a name.
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM};
use crate::support::shim::compiled;
use std::path::PathBuf;
use std::process::{Command, ExitStatus, Stdio};
use std::sync::LazyLock;

/// Ends a program that opens a socket.
static GUARD: LazyLock<PathBuf> = LazyLock::new(|| compiled("no_sockets"));

/// Runs a line of words under the guard.
fn guarded(folder: &Folder, words: &str) -> ExitStatus {
    let mut command: Command = folder.command(PROGRAM);
    command.args(words.split(' ')).env("LD_PRELOAD", GUARD.as_path()).env("SWELLBOOK", "tour");
    let quiet = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    quiet.status().expect("the program runs")
}

/// To add a row: a command line without spaces in its values.
const LINES: [&str; 19] = [
    "tour elsewhere",
    "init another",
    "record paper P --caliper 0.1mm --hardness hard",
    "record thread H --count 18/3",
    "record trial N1 --paper P --thread H --sections 10 --sheets 4",
    "record readings N1 --state sewn --spine 9.1 --fore-edge 8.1",
    "strike reading N1/sewn/1 --reason slip",
    "audit",
    "gauge",
    "fit --compare",
    "predict --paper P --thread H --sections 10 --sheets 4",
    "plan --paper P --leaves 80 --target rounded",
    "midway --paper P --thread H --sections 10 --sheets 4 --target rounded --sewn 5 --spine 5.1 --fore-edge 4.1",
    "next --paper P --thread H --sections 10 --sheets 4",
    "chart factors --out factors.svg",
    "report --out report.html",
    "export --sheet --out sheet.csv",
    "backup kept.tar",
    "restore --from kept.tar again",
];

#[test]
fn no_command_but_bench_opens_a_socket() {
    let folder = Folder::toured();
    for line in LINES {
        assert_eq!(guarded(&folder, line).code(), Some(0), "{line}");
    }
    let readings = guarded(&folder, "export --readings");
    assert_eq!(readings.code(), Some(0));
    // The guard would have done this to the other commands too.
    assert_eq!(guarded(&folder, "bench --port 0").code(), None);
}

/// The table of strings of a program has the names of the system functions that it links, each
/// between two zero bytes. A library that calls the kernel by itself would not be seen here.
#[cfg(target_env = "gnu")]
#[test]
fn the_program_links_nothing_that_looks_up_a_name() {
    let program = std::fs::read(PROGRAM).expect("the program");
    let links = |name: &str| {
        let entry = [b"\0", name.as_bytes(), b"\0"].concat();
        program.windows(entry.len()).any(|window| window == entry)
    };
    assert!(links("write"), "no function was found at all");
    for name in ["getaddrinfo", "gethostbyname", "res_query"] {
        assert!(!links(name), "{name}");
    }
}
