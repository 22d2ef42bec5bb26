//! Downloads of the backup and the flat sheet: only with the key, and also from a read-only page.

use crate::support::folder::Folder;
use crate::support::served::Served;

/// A book whose title cannot be a file name.
fn bench() -> Folder {
    let folder = Folder::new();
    folder.run(&["init", ".", "--title", "A/B \"bench\" of <b>Ann</b>"]).ends(0);
    folder.run(&["record", "paper", "laid", "--caliper", "0.13mm"]).ends(0);
    folder
}

#[test]
fn the_backup_and_the_sheet_are_files_with_the_name_of_the_book_and_the_day() {
    let folder = bench();
    folder.run(&["backup", "kept.tar"]).ends(0);
    folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0);
    for words in [&["--port", "0"][..], &["--port", "0", "--read-only"]] {
        let served = Served::with(&folder, words);
        assert!(served.get("/stock").body.contains("href=\"/backup\""));
        for (path, kind, own, ending) in [
            ("/backup", "application/x-tar", "kept.tar", "tar"),
            ("/sheet", "text/csv; charset=utf-8", "out.csv", "csv"),
        ] {
            let reply = served.get(path);
            assert_eq!(reply.status, 200, "{path}");
            assert_eq!(reply.header("content-type"), Some(kind));
            let name = format!("attachment; filename=\"A_B_bench_of_b_Ann_b-2026-03-01.{ending}\"");
            assert_eq!(reply.header("content-disposition"), Some(name.as_str()));
            assert_eq!(reply.body, folder.read(own), "{path}");
        }
    }
}

#[test]
fn the_empty_sheet_is_the_one_of_the_command() {
    let folder = bench();
    let served = Served::open(&folder);
    assert!(served.get("/import").body.contains("href=\"/import/empty-sheet\""));
    let reply = served.get("/import/empty-sheet");
    assert_eq!(reply.body, folder.run(&["import", "--template", "-"]).ends(0).out);
}

#[test]
fn nobody_without_the_key_gets_a_file() {
    let folder = bench();
    let served = Served::open(&folder);
    for path in ["/backup", "/sheet"] {
        let reply = served.answer(&served.asks(&format!("GET {path}")).without("Cookie"));
        assert_eq!(reply.status, 403, "{path}");
        assert!(!reply.body.contains("laid"), "{path}");
    }
}

#[test]
fn a_book_that_cannot_be_opened_gives_a_page_that_says_so() {
    let folder = bench();
    let served = Served::open(&folder);
    folder.write("papers.csv", folder.read("papers.csv") + "bond,,thick,hard,\n");
    let reply = served.get("/backup");
    assert!(reply.status >= 400 && reply.body.contains("papers.csv"), "{}", reply.body);
    assert_eq!(reply.header("content-disposition"), None);
}
