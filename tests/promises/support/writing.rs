//! Every command that writes, on a small book.
#![cfg(target_os = "linux")]

use crate::support::breaking::{Deed, state_with_edits};
use crate::support::folder::{self, Files, Folder, words};
use crate::support::pools::pool;
use std::sync::LazyLock;
use swellbook::book::{PoolFile, pool_text};

/// Papers, threads, a trial and readings at once.
const SHEET: &str = "\
trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm
A1,2026-02-14,laid 120,soft,120,0.155,linen 18,0.55,12,3,2,1,yes,sewn,14.5,11.5
A1,2026-02-14,laid 120,soft,120,0.155,linen 18,0.55,12,3,2,1,yes,knocked,13.5,11.4
";

pub const PREDICT: [&str; 9] =
    ["predict", "--paper", "bond 80", "--thread", "linen 25", "--sections", "20", "--sheets", "4"];

/// A book with readings. It is made once and copied.
pub fn measured() -> Folder {
    static BOOK: LazyLock<Files> = LazyLock::new(|| {
        let folder = Folder::with_trial();
        folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
        folder.write("sheet.csv", SHEET);
        folder.holds()
    });
    Folder::with(&BOOK)
}

pub fn readings() -> Deed {
    let line = "record readings T1 --state knocked --spine 10.4,10.5 --fore-edge 8.0,8.05";
    Deed::new(measured(), &words(line))
}

pub fn trial() -> Deed {
    Deed::new(measured(), &folder::trial("T2"))
}

pub fn paper() -> Deed {
    Deed::new(measured(), &["record", "paper", "laid", "--caliper", "0.13mm", "--hardness=soft"])
}

pub fn sheet() -> Deed {
    Deed::new(measured(), &["import", "sheet.csv"])
}

pub fn strike() -> Deed {
    Deed::new(measured(), &["strike", "trial", "T1", "--reason", "the wrong thread"])
}

pub fn strike_reading() -> Deed {
    Deed::new(measured(), &["strike", "reading", "T1/sewn/2", "--reason", "misread"])
}

pub fn undo() -> Deed {
    Deed::new(measured(), &["undo"])
}

pub fn correct() -> Deed {
    Deed::new(measured(), &["correct", "trial", "T1", "--boned"])
}

pub fn forecast() -> Deed {
    Deed::new(measured(), &[&PREDICT[..], &["--keep", "B1"]].concat())
}

/// Rows were added by hand to two files.
pub fn accept() -> Deed {
    let folder = measured();
    for (file, name, other) in [("papers.csv", "bond 80", "wove"), ("threads.csv", "25", "26")] {
        let text = folder.read(file);
        let row = text.lines().last().expect("a row").replace(name, other);
        folder.write(file, format!("{text}{row}\n"));
    }
    Deed::seen(folder, &["audit", "--accept"], state_with_edits)
}

/// A book that starts from a pool, which replaces another pool.
pub fn choose() -> Deed {
    let folder = measured();
    let first = pool();
    folder.write("first.toml", pool_text(&first));
    folder.write("second.toml", pool_text(&PoolFile { benches: 43, ..first }));
    folder.run(&["beliefs", "--from", "first.toml", "--yes"]).ends(0);
    Deed::seen(folder, &["beliefs", "--from", "second.toml", "--yes"], state_with_edits)
}

pub fn new_book() -> Deed {
    Deed::new(Folder::new(), &["init", "."])
}

/// A book restored from its backup, which is outside the folder.
pub fn restored() -> Deed {
    static BACKUP: LazyLock<String> = LazyLock::new(|| {
        let file = format!("{}/measured.tar", env!("CARGO_TARGET_TMPDIR"));
        let _ = std::fs::remove_file(&file);
        measured().run(&["backup", &file]).ends(0);
        file
    });
    Deed::new(Folder::new(), &["restore", "--from", &BACKUP, "."])
}

/// Every command that writes.
pub const ALL_DEEDS: [fn() -> Deed; 13] = [
    readings,
    trial,
    paper,
    sheet,
    strike,
    strike_reading,
    undo,
    correct,
    forecast,
    accept,
    choose,
    new_book,
    restored,
];
