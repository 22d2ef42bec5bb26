//! A sheet as its binder keeps it: own headings, given once and kept in the book; the readings
//! before and after in one row; an empty sheet to begin with.

use crate::support::folder::Folder;

/// Readings of two states in one row, under headings that people write.
const BEFORE_AFTER: &str = "\
trial;paper;hardness;caliper_mm;thread;laid_mm;sections;sheets;Spine before;Fore-edge before;Spine after (mm);fore edge, after
A1;wove;soft;0,155;linen 18;0,55;10;3;13,1;9,6;12,2;9,6
A1;;;;;;;;13,2;9,7;;
A2;wove;;;linen 18;;12;3;15,0;11,5;13,9;11,5
";

/// A sheet with other words in its header.
const OWN: &str = "\
Block,Papier,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,R\u{fc}cken,Vorn,Preis
A1,wove,soft,0.155,linen 18,0.55,10,3,sewn,13.1,9.6,5
";

const SAID: [&str; 8] = [
    "--heading",
    "Block=trial",
    "--heading",
    "Papier=paper",
    "--heading",
    "R\u{fc}cken=spine_mm",
    "--heading",
    "vorn=fore edge (mm)",
];

#[test]
fn a_row_gives_the_readings_of_each_state_that_it_has() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", BEFORE_AFTER);
    let run = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(run.out.starts_with("added 1 paper, 1 thread, 2 trials, 5 readings"), "{}", run.out);
    let says = "sheet.csv:1: read 'Spine before' as spine_sewn_mm, 'Fore-edge before' as \
                fore_edge_sewn_mm, 'Spine after (mm)' as spine_knocked_mm, 'fore edge, after' as \
                fore_edge_knocked_mm";
    assert!(run.err.contains(says), "{}", run.err);
    let rows = [
        "A1,sewn,1,13.1,9.6,,",
        "A1,knocked,1,12.2,9.6,,",
        "A1,sewn,2,13.2,9.7,,",
        "A2,sewn,1,15,11.5,,",
        "A2,knocked,1,13.9,11.5,,",
    ];
    assert_eq!(folder.rows("readings.csv"), rows);
    let before = folder.bytes();
    let again = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(again.out.contains("nothing was added from sheet.csv; 5 readings already"));
    assert_eq!(folder.bytes(), before);
}

#[test]
fn the_headings_of_states_are_read_however_they_are_written() {
    let head = "trial,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets";
    for (spine, fore_edge, state) in [
        ("spine_sewn_mm", "fore_edge_sewn_mm", "sewn"),
        ("Spine, sewn [mm]", "Fore-edge sewn", "sewn"),
        ("sewn spine", "sewn foreedge mm", "sewn"),
        ("spine as sewn", "fore edge as sewn", "sewn"),
        ("Spine unsewn", "fore_edge unsewn", "unsewn"),
        ("spine pressed", "fore edge pressed", "pressed"),
        ("spine after", "fore edge after", "knocked"),
        ("Spine (knocked down)", "Fore-edge (knocked down)", "knocked"),
        ("spine_knocked_pressed_mm", "fore edge knocked+pressed", "knocked+pressed"),
    ] {
        let folder = Folder::with_book();
        let sheet =
            format!("{head},\"{spine}\",\"{fore_edge}\"\nA1,wove,hard,.1,linen,.5,10,4,9,8.1\n");
        folder.write("sheet.csv", sheet);
        folder.run(&["import", "sheet.csv"]).ends(0);
        assert_eq!(folder.rows("readings.csv"), [format!("A1,{state},1,9,8.1,,")], "{spine}");
    }
}

#[test]
fn a_fault_in_a_row_of_several_states_names_the_column_of_the_sheet() {
    let folder = Folder::with_book();
    let wrong = BEFORE_AFTER.replace("12,2;9,6", "122;x").replace("13,2;9,7", ";");
    folder.write("sheet.csv", wrong);
    let before = folder.read("readings.csv");
    let run = folder.run(&["import", "sheet.csv"]).ends(3);
    run.complains_of(&["sheet.csv:2, column 'fore edge, after': 'x' is not", "sheet.csv:3: "]);
    folder.write("sheet.csv", BEFORE_AFTER.replace("13,9;", "139;"));
    let run = folder.run(&["import", "sheet.csv"]).ends(3);
    run.complains_of(&["sheet.csv:4, column 'Spine after (mm)': spine 139 mm is outside"]);
    assert_eq!(folder.read("readings.csv"), before);
}

#[test]
fn a_fault_in_a_row_of_several_states_is_reported_once() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", BEFORE_AFTER);
    folder.run(&["import", "sheet.csv"]).ends(0);
    folder.write(
        "sheet.csv",
        BEFORE_AFTER
            .replace("A1;wove;soft;0,155;linen 18;0,55;10", "A1;wove;soft;0,155;linen 18;0,55;11"),
    );
    let run = folder.run(&["import", "sheet.csv"]).ends(3);
    assert_eq!(run.err.matches("has 11 here, but the book says 10").count(), 1, "{}", run.err);
}

#[test]
fn a_state_is_given_in_only_one_way() {
    let folder = Folder::with_trial();
    for (header, says) in [
        ("trial,state,spine before,fore-edge before", "'spine before' (column C) is for one state"),
        ("trial,spine_mm,spine before,fore_edge_mm", "'spine_mm' (column B) is for the state that"),
        (
            "trial,spine before,spine sewn,x",
            "'spine before' (column B) and 'spine sewn' (column C)",
        ),
    ] {
        folder.write("sheet.csv", format!("{header}\nT1,1,2,3\n"));
        folder.run(&["import", "sheet.csv"]).ends(3).complains_of(&[says]);
    }
}

#[test]
fn headings_are_given_once_and_kept_in_the_book() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", OWN);
    let run = folder.run(&["import", "sheet.csv"]).ends(3);
    let not_known = "not known: 'Block', 'Papier', 'R\u{fc}cken', 'Vorn', 'Preis'; say once";
    run.complains_of(&["no column trial, spine_mm, fore_edge_mm", not_known]);
    let args = |more: &[&'static str]| [&["import", "sheet.csv"], &SAID[..], more].concat();
    let before = folder.bytes();
    let dry = folder.run(&args(&["--dry-run"])).ends(0);
    assert!(dry.err.contains("would be kept: 'Block' as trial, 'Papier' as paper"), "{}", dry.err);
    assert_eq!(folder.holds(), {
        folder.put(&before);
        folder.holds()
    });
    let run = folder.run(&args(&["--heading", "Preis="])).ends(0);
    let kept = "kept for the next sheet: 'Block' as trial, 'Papier' as paper, 'R\u{fc}cken' as \
                spine_mm, 'vorn' as fore_edge_mm, 'Preis' as a column to leave out";
    assert!(run.err.contains(kept), "{}", run.err);
    let file = "heading,column\nBlock,trial\nPapier,paper\nR\u{fc}cken,spine_mm\nvorn,fore_edge_mm\n\
                Preis,\n";
    assert_eq!(folder.read("headings.csv"), file);
    folder.write("sheet.csv", OWN.replace("A1,wove", "A2,wove"));
    let next = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(next.out.starts_with("added 1 trial, 1 reading"), "{}", next.out);
    assert!(
        next.err.contains("read 'Block' as trial") && !next.err.contains("Preis"),
        "{}",
        next.err
    );
    // A heading that is given again as it is kept adds nothing.
    let again = folder.run(&args(&[])).ends(0);
    assert!(again.out.starts_with("nothing was added") && !again.err.contains("kept for"));
    assert_eq!(folder.read("headings.csv"), file);
}

#[test]
fn the_last_meaning_given_to_a_heading_counts() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", OWN);
    let wrong = ["import", "sheet.csv", "--heading", "R\u{fc}cken=fore_edge_mm", "--dry-run"];
    let both = "'R\u{fc}cken' (column J) and 'Vorn' (column K) are both fore_edge_mm";
    folder.run(&[&wrong[..], &SAID[6..], &SAID[..4]].concat()).ends(3).complains_of(&[both]);
    let all = [&["import", "sheet.csv"], &SAID[..]].concat();
    let said = [&all[..], &["--heading", "Block=paper", "--heading", "Block=trial"]].concat();
    folder.run(&said).ends(0);
    let row = folder.read("headings.csv") + "block,\n";
    folder.write("headings.csv", row);
    folder.run(&["import", "sheet.csv"]).ends(3).complains_of(&["no column trial"]);
}

/// A guess is a word that was probably mistyped, not any word that looks like it.
#[test]
fn unknown_headings_are_counted_and_only_slips_of_typing_get_a_guess() {
    let folder = Folder::with_book();
    let own = "Bogen,Harte,Lagen,Trail,hardnes,Seite,Farbe,Preis";
    for (more, says) in
        [("", "'Farbe', 'Preis'; say once"), (",a,b,c", "'Preis' and 3 more; say once")]
    {
        folder.write("sheet.csv", format!("{own}{more}\n1,2,3,4,5,6,7,8\n"));
        let run = folder.run(&["import", "sheet.csv"]).ends(3);
        run.complains_of(&[says, "'Trail' is not known; is it 'trial'?"]);
        run.complains_of(&["'hardnes' is not known; is it 'hardness'?"]);
        assert_eq!(run.err.matches("is it").count(), 2, "{}", run.err);
    }
}

#[test]
fn a_wrong_meaning_of_a_heading_is_refused_with_what_to_type() {
    let folder = Folder::with_book();
    folder.write("sheet.csv", OWN);
    for (said, says) in [
        ("Block", "'Block' is not in the form HEADING=COLUMN"),
        ("=trial", "'=trial' is not in the form HEADING=COLUMN"),
        (
            "Block=trail",
            "'trail' is not a column of a sheet (is it 'trial'?); the columns are trial,",
        ),
        ("@x=trial", "@x"),
        ("Buch=trial", "no column 'Buch'; write the heading as it is in the sheet"),
        ("a=b=trial", "no column 'a=b'"),
    ] {
        let before = folder.bytes();
        folder.run(&["import", "sheet.csv", "--heading", said]).ends(3).complains_of(&[says]);
        assert_eq!(folder.bytes(), before, "{said}");
    }
    folder.write("headings.csv", "heading,column\nBlock,trail\n");
    let says =
        ["headings.csv says of 'Block': 'trail' is not a column of a sheet (is it 'trial'?)"];
    folder.run(&["import", "sheet.csv"]).ends(3).complains_of(&says);
}

#[test]
fn a_heading_may_give_the_unit_of_its_lengths() {
    let folder = Folder::with_trial();
    let rows = "T1,sewn,head,0.4331,0.315\nT1,sewn,tail,11 mm,8 mm\n";
    for header in
        ["Spine (in),Fore-edge (in)", "spine_in,fore_edge_inches", "Spine \"\"\"\",fore edge in"]
    {
        let quoted = header.replace("Spine \"\"\"\"", "\"Spine \"\"\"");
        folder.write("sheet.csv", format!("trial,state,place,{quoted}\n{rows}"));
        let dry = folder.run(&["import", "sheet.csv", "--dry-run"]).ends(0);
        assert!(
            dry.err.contains("as spine_in") && dry.err.contains("as fore_edge_in"),
            "{}",
            dry.err
        );
    }
    folder.run(&["import", "sheet.csv"]).ends(0);
    let kept = folder.rows("readings.csv");
    assert!(kept.contains(&"T1,sewn,head,11.00074,8.001,,".to_owned()), "{kept:?}");
    assert!(kept.contains(&"T1,sewn,tail,11,8,,".to_owned()), "{kept:?}");
    // The files of a book hold only millimetres.
    folder.write("papers.csv", folder.read("papers.csv").replace("caliper_mm", "caliper_in"));
    let audit = folder.run(&["audit"]).ends(3);
    assert!(audit.out.contains("column 'caliper_in' is not in mm"), "{}", audit.out);
}

#[test]
fn an_empty_sheet_is_written_filled_in_and_imported() {
    let folder = Folder::new();
    folder.run(&["import", "--template", "mine.csv"]).ends(0);
    let empty = folder.read("mine.csv");
    assert_eq!(folder.run(&["import", "--template", "-"]).ends(0).out, empty);
    folder
        .run(&["import", "--template", "mine.csv"])
        .ends(3)
        .complains_of(&["--template: ", "exists"]);
    folder.run(&["import", "--template", "x.txt"]).ends(3).complains_of(&["--template: ", ".csv"]);
    folder.run(&["init", "."]).ends(0);
    folder
        .run(&["import", "--template", "papers.csv"])
        .ends(3)
        .complains_of(&["belongs to a book"]);
    let still = ["mine.csv: this sheet is still empty; write a row for each place measured below"];
    folder.run(&["import", "mine.csv"]).ends(3).complains_of(&still);
    let header = empty.lines().next().expect("a header");
    let row = header.split(',').map(|column| match column {
        "trial" => "A1",
        "paper" => "wove",
        "hardness" => "soft",
        "caliper_mm" => "\"0,155\"",
        "thread" => "linen 18",
        "laid_mm" => "\"0,55\"",
        "sections" => "10",
        "sheets" => "3",
        "state" => "sewn",
        "spine_mm" => "\"13,1\"",
        "fore_edge_mm" => "\"9,6\"",
        _ => "",
    });
    folder.write("mine.csv", format!("{empty}{}\n", row.collect::<Vec<_>>().join(",")));
    let run = folder.run(&["import", "mine.csv"]).ends(0);
    assert!(run.out.starts_with("added 1 paper, 1 thread, 1 trial, 1 reading"), "{}", run.out);
}

#[cfg(unix)]
#[test]
fn a_person_at_a_terminal_is_asked_about_headings_only_once() {
    use crate::support::terminal::Terminal;
    let folder = Folder::with_book();
    folder.write("sheet.csv", OWN);
    let mut terminal = Terminal::run(&folder, &["import", "sheet.csv"]);
    for (asked, answer) in [
        ("which column is 'Block', such as spine_mm", "trail"),
        ("(is it 'trial'?)", "nothing yet"),
        ("which column is 'Block'", "trial"),
        ("which column is 'Papier', such as paper", "paper"),
        ("cken', such as spine_mm", "spine mm"),
        ("which column is 'Vorn', such as spine_mm", "fore-edge mm"),
        ("which column is 'Preis', such as spine_mm", ""),
    ] {
        terminal.expect(asked);
        if !asked.starts_with("(is") {
            terminal.send_line(answer);
        }
    }
    terminal.expect("added 1 paper, 1 thread, 1 trial, 1 reading");
    terminal.rest();
    assert!(folder.read("headings.csv").contains("Papier,paper\n"));
    let run = folder.run(&["import", "sheet.csv"]).ends(0);
    assert!(run.out.contains("1 reading already in the book"), "{}", run.out);
}

/// Enter leaves a column out, unless its heading is the name of a column without the unit. A word
/// that only looks like a column is an example in the question.
#[cfg(unix)]
#[test]
fn a_heading_that_only_looks_like_a_column_is_left_out_by_enter() {
    use crate::support::terminal::Terminal;
    let folder = Folder::with_book();
    let head = OWN.lines().next().expect("a header");
    let known = head
        .replace("Block,Papier", "trial,paper")
        .replace("R\u{fc}cken,Vorn", "spine_mm,fore_edge_mm");
    let known =
        known.replace("Preis", "Price,Band,Bond,Plate,None").replace("caliper_mm", "Caliper");
    let row = OWN.lines().nth(1).expect("a row");
    folder.write("sheet.csv", format!("{known}\n{row},x,y,z,n\n"));
    let mut terminal = Terminal::run(&folder, &["import", "sheet.csv"]);
    terminal.converse(&[
        ("which column is 'Caliper' (- leaves it out) [caliper_mm]: ", ""),
        ("which column is 'Price', such as spine_mm [leave out]: ", ""),
        ("which column is 'Band', such as hand [leave out]: ", "-"),
        ("which column is 'Bond', such as boned [leave out]: ", "none"),
        ("which column is 'Plate', such as place [leave out]: ", " "),
        ("which column is 'None', such as note [leave out]: ", "note"),
    ]);
    terminal.expect("added 1 paper, 1 thread, 1 trial, 1 reading");
    terminal.rest();
    let kept = folder.read("headings.csv");
    assert!(
        kept.ends_with("Caliper,caliper_mm\nPrice,\nBand,\nBond,\nPlate,\nNone,note\n"),
        "{kept}"
    );
    assert_eq!(folder.rows("readings.csv"), ["A1,sewn,1,13.1,9.6,,n"]);
    folder.write("more.csv", format!("{}\n{row},x,y,z,n\n", known.replace("Price", "Cost")));
    folder.run(&["import", "more.csv", "--heading", "Cost=-", "--dry-run"]).ends(0);
}
