//! Inputs that are hostile by their size: files of one character a row, of a million columns, of
//! faults alone. Each can be made in any size.

/// A large input, the target it is for, and what is wrong with it.
pub struct Shape {
    pub target: &'static str,
    pub name: &'static str,
    /// Makes an input of about this many bytes.
    pub make: fn(usize) -> Vec<u8>,
}

const SHEET: &str = "trial,state,spine_mm,fore_edge_mm\n";
const READINGS: &str = "trial,state,place,spine_mm,fore_edge_mm\n";

fn filled(head: &str, part: &str, size: usize) -> Vec<u8> {
    let times = size.saturating_sub(head.len()) / part.len();
    [head.as_bytes(), part.repeat(times).as_bytes()].concat()
}

/// Rows that differ, up to `size` bytes.
fn counted(head: &str, size: usize, row: impl Fn(usize) -> String) -> Vec<u8> {
    let mut text = head.to_owned();
    for number in 1.. {
        if text.len() >= size {
            break;
        }
        text += &row(number);
    }
    text.into_bytes()
}

/// Inputs that no reader can use.
pub const SHAPES: [Shape; 23] = [
    Shape { target: "sheet", name: "NUL bytes", make: |size| vec![0; size] },
    Shape { target: "sheet", name: "one line without a mark", make: |size| vec![b'a'; size] },
    Shape { target: "sheet", name: "line ends alone", make: |size| vec![b'\n'; size] },
    Shape { target: "sheet", name: "columns in one line", make: |size| vec![b','; size] },
    Shape { target: "sheet", name: "a row of columns", make: |size| filled(SHEET, "1,", size) },
    Shape {
        target: "sheet",
        name: "rows of one character",
        make: |size| filled(SHEET, "1\n", size),
    },
    Shape {
        target: "sheet",
        name: "rows of empty cells",
        make: |size| filled(SHEET, ",,,\n", size),
    },
    Shape {
        target: "sheet",
        name: "rows with every cell wrong",
        make: |size| filled(SHEET, "=,x,y,z\n", size),
    },
    Shape {
        target: "sheet",
        name: "every other row blank",
        make: |size| filled(SHEET, "1\n\n", size),
    },
    Shape {
        target: "sheet",
        name: "a quote never closed",
        make: |size| filled("\"", "a,b\n", size),
    },
    Shape { target: "sheet", name: "quotes alone", make: |size| vec![b'"'; size] },
    Shape {
        target: "sheet",
        name: "quoted empty cells",
        make: |size| filled(SHEET, "\"\"\n", size),
    },
    Shape { target: "sheet", name: "a cell without end", make: |size| filled(SHEET, "a", size) },
    Shape { target: "sheet", name: "UTF-16", make: |size| filled("\u{0}t", "\u{0}a", size) },
    Shape {
        target: "sheet",
        name: "invalid UTF-8",
        make: |size| [SHEET.as_bytes(), &vec![0xff; size]].concat(),
    },
    Shape {
        target: "sheet",
        name: "a header of names unknown",
        make: |size| filled("", "x,", size),
    },
    Shape {
        target: "readings",
        name: "rows of one character",
        make: |size| filled(READINGS, "1\n", size),
    },
    Shape {
        target: "struck",
        name: "strikes of nothing",
        make: |size| filled("what,id,reason,date\n", "paper,x,y,2026-01-01\n", size),
    },
    Shape {
        target: "gauge",
        name: "rows of one character",
        make: |size| filled("part,reading_mm\n", "1\n", size),
    },
    Shape {
        target: "plan",
        name: "an array of zeros",
        make: |size| filled("sections=[", "0,", size),
    },
    Shape {
        target: "plan",
        name: "runs without a word",
        make: |size| filled("", "[[run]]\n", size),
    },
    Shape {
        target: "pool",
        name: "beliefs without a word",
        make: |size| counted("format=1\n", size, |n| format!("[beliefs.b{n}]\n")),
    },
    Shape {
        target: "settings",
        name: "tables in tables",
        make: |size| filled("format=1\na", ".a", size),
    },
];

/// Large files in which each row may be right. A row is kept until it is compared with the others,
/// so the memory grows with the file.
pub const SOUND: [Shape; 5] = [
    Shape {
        target: "readings",
        name: "one reading again and again",
        make: |size| filled(READINGS, "T1,sewn,1,12,8\n", size),
    },
    Shape {
        target: "readings",
        name: "trials that are not there",
        make: |size| counted(READINGS, size, |n| format!("t{n},sewn,1,12,8\n")),
    },
    Shape {
        target: "sheet",
        name: "short rows of one trial",
        make: |size| counted(SHEET, size, |_| "T1,sewn,12,8\n".to_owned()),
    },
    Shape {
        target: "sheet",
        name: "a sheet as binders keep it",
        make: |size| {
            counted(KEPT, size, |n| {
                format!(
                    "b{},2026-01-05,bond 80,hard,80,0.1,linen 25,,10,4,1,0,no,sewn,{:.2},8.20\n",
                    n / 10,
                    12.0 + (n % 100) as f64 / 100.0
                )
            })
        },
    },
    Shape {
        target: "readings",
        name: "readings of one trial",
        make: |size| counted(READINGS, size, |n| format!("T1,sewn,{n},12.51,8.2\n")),
    },
];

const KEPT: &str = "trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm\n";
