//! Inputs that are hostile by their size: files of one character a row, of a million columns, of
//! faults alone. Each can be made in any size.

/// A large input, the target it is for, and what is wrong with it.
pub struct Shape {
    pub target: &'static str,
    pub name: &'static str,
    /// Makes an input of about this many bytes.
    pub make: fn(usize) -> Vec<u8>,
}

const fn shape(target: &'static str, name: &'static str, make: fn(usize) -> Vec<u8>) -> Shape {
    Shape { target, name, make }
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
    shape("sheet", "NUL bytes", |size| vec![0; size]),
    shape("sheet", "one line without a mark", |size| vec![b'a'; size]),
    shape("sheet", "line ends alone", |size| vec![b'\n'; size]),
    shape("sheet", "columns in one line", |size| vec![b','; size]),
    shape("sheet", "a row of columns", |size| filled(SHEET, "1,", size)),
    shape("sheet", "rows of one character", |size| filled(SHEET, "1\n", size)),
    shape("sheet", "rows of empty cells", |size| filled(SHEET, ",,,\n", size)),
    shape("sheet", "rows with every cell wrong", |size| filled(SHEET, "=,x,y,z\n", size)),
    shape("sheet", "every other row blank", |size| filled(SHEET, "1\n\n", size)),
    shape("sheet", "a quote never closed", |size| filled("\"", "a,b\n", size)),
    shape("sheet", "quotes alone", |size| vec![b'"'; size]),
    shape("sheet", "quoted empty cells", |size| filled(SHEET, "\"\"\n", size)),
    shape("sheet", "a cell without end", |size| filled(SHEET, "a", size)),
    shape("sheet", "UTF-16", |size| filled("\u{0}t", "\u{0}a", size)),
    shape("sheet", "invalid UTF-8", |size| [SHEET.as_bytes(), &vec![0xff; size]].concat()),
    shape("sheet", "a header of names unknown", |size| filled("", "x,", size)),
    shape("readings", "rows of one character", |size| filled(READINGS, "1\n", size)),
    shape("struck", "strikes of nothing", |size| {
        filled("what,id,reason,date\n", "paper,x,y,2026-01-01\n", size)
    }),
    shape("gauge", "rows of one character", |size| filled("part,reading_mm\n", "1\n", size)),
    shape("plan", "an array of zeros", |size| filled("sections=[", "0,", size)),
    shape("plan", "runs without a word", |size| filled("", "[[run]]\n", size)),
    shape("pool", "beliefs without a word", |size| {
        counted("format=1\n", size, |n| format!("[beliefs.b{n}]\n"))
    }),
    shape("settings", "tables in tables", |size| filled("format=1\na", ".a", size)),
];

/// Large files in which each row may be right. A row is kept until it is compared with the others,
/// so the memory grows with the file.
pub const SOUND: [Shape; 5] = [
    shape("readings", "one reading again and again", |size| {
        filled(READINGS, "T1,sewn,1,12,8\n", size)
    }),
    shape("readings", "trials that are not there", |size| {
        counted(READINGS, size, |n| format!("t{n},sewn,1,12,8\n"))
    }),
    shape("sheet", "short rows of one trial", |size| {
        counted(SHEET, size, |_| "T1,sewn,12,8\n".to_owned())
    }),
    shape("sheet", "a sheet as binders keep it", |size| {
        counted(KEPT, size, |n| {
            format!(
                "b{},2026-01-05,bond 80,hard,80,0.1,linen 25,,10,4,1,0,no,sewn,{:.2},8.20\n",
                n / 10,
                12.0 + (n % 100) as f64 / 100.0
            )
        })
    }),
    shape("readings", "readings of one trial", |size| {
        counted(READINGS, size, |n| format!("T1,sewn,{n},12.51,8.2\n"))
    }),
];

const KEPT: &str = "trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm\n";
