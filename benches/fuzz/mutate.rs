//! Mutates inputs: changes bytes, cuts, doubles and swaps pieces, inserts words.

/// Pseudo-random numbers from a seed (splitmix64).
pub struct Numbers(pub u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`, or 0 if `end` is 0.
    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % (end.max(1) as u64)) as usize
    }

    /// One of these.
    pub fn one<'a, T: ?Sized>(&mut self, all: &[&'a T]) -> &'a T {
        all[self.below(all.len())]
    }
}

/// The longest mutated input, except for the rare repeated ones.
const LONGEST: usize = 4096;
const LONGEST_REPEATED: usize = 256 * 1024;

/// Pieces with a meaning in some format.
pub const WORDS: [&str; 96] = [
    ",",
    ";",
    "\t",
    "\"",
    "\"\"",
    "\n",
    "\r\n",
    "\r",
    "\0",
    " ",
    "\u{feff}",
    "\u{a0}",
    "\u{202e}",
    "\u{2212}",
    "\u{2028}",
    "\u{85}",
    "\u{1b}[2J",
    "=",
    "+",
    "-",
    "@",
    ".",
    "/",
    "..",
    "'",
    "#",
    "[",
    "]",
    "{",
    "}",
    "[[run]]\n",
    "[[run]]\npaper = \"laid\"\n",
    "[beliefs.factor]\n",
    "[spreads]\n",
    "mean = ",
    "sd = ",
    "format = 1\n",
    "title = ",
    "unit = \"in\"\n",
    "resolution_mm = ",
    "1e309",
    "1e-400",
    "nan",
    "inf",
    "-0",
    "0x10",
    "9223372036854775808",
    "0.0000000000000000000001",
    "99999999999999999999999999999999",
    "1,5",
    "1.234,5",
    "0",
    "1",
    "12.5",
    "8,2",
    "500",
    "65536",
    "3/16",
    "1 3/16",
    "mm",
    "um",
    "\u{b5}m",
    "in",
    "thou",
    "\u{2033}",
    "%",
    "g/m\u{b2}",
    "lea 25/3",
    "tex 200",
    "Nm 30/3",
    "Ne 12/2",
    "Td 840",
    "sewn",
    "knocked+pressed",
    "unsewn",
    "hard",
    "soft",
    "linen",
    "yes",
    "no",
    "T1",
    "bond 80",
    "linen 25",
    "head",
    "2026-01-05",
    "14/03/2026",
    "03.14.2026",
    "9999-12-31",
    "trial",
    "spine_mm",
    "state=sewn",
    "05=23.1;25=25;50=26.2;75=27.5;95=29.4",
    "rounded 12..22",
    "wanted -5..3",
    "paper=",
    "\u{1f4d6}",
];

/// Mutates `from`, sometimes with one of `words` or a piece of `other`.
pub fn mutate(from: &[u8], other: &[u8], words: &[&str], numbers: &mut Numbers) -> Vec<u8> {
    let mut bytes = from.to_vec();
    for _ in 0..=numbers.below(4) {
        change(&mut bytes, other, words, numbers);
    }
    // Rare because it is slow.
    if numbers.below(2000) == 0 {
        repeat(&mut bytes, numbers);
    } else {
        bytes.truncate(LONGEST);
    }
    bytes
}

fn change(bytes: &mut Vec<u8>, other: &[u8], words: &[&str], numbers: &mut Numbers) {
    let at = numbers.below(bytes.len() + 1);
    let piece = piece(bytes, numbers);
    match numbers.below(12) {
        0 => bytes.iter_mut().skip(at).take(1).for_each(|byte| *byte ^= 1 << numbers.below(8)),
        1 => bytes.iter_mut().skip(at).take(1).for_each(|byte| *byte = numbers.next() as u8),
        2..=4 => insert(bytes, at, numbers.one(words).as_bytes()),
        5 => drop(bytes.drain(piece)),
        6 => {
            let copy = bytes[piece].to_vec();
            insert(bytes, at, &copy);
        }
        7 => bytes.truncate(at),
        8 => insert(bytes, at, &other[self::piece(other, numbers)]),
        9 => drop(bytes.splice(piece, numbers.one(words).bytes())),
        10 => exchange_cell(bytes, other, words, numbers),
        _ => number(bytes, at, numbers),
    }
}

fn insert(bytes: &mut Vec<u8>, at: usize, what: &[u8]) {
    let at = at.min(bytes.len());
    drop(bytes.splice(at..at, what.iter().copied()));
}

/// The range of a piece of the input, usually short.
fn piece(bytes: &[u8], numbers: &mut Numbers) -> std::ops::Range<usize> {
    let start = numbers.below(bytes.len() + 1);
    let most = if numbers.below(4) == 0 { bytes.len() } else { 12 };
    start..(start + numbers.below(most + 1)).min(bytes.len())
}

/// The ranges of the cells of a text, with any separator.
fn cells(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut start = 0;
    let ends = bytes.iter().enumerate().filter(|(_, byte)| b",;\t\n=".contains(byte));
    let ends = ends.map(|(index, _)| index).chain([bytes.len()]);
    ends.map(|end| std::mem::replace(&mut start, end + 1)..end).collect()
}

/// Replaces a cell of the input by a cell of the other input or by a word.
fn exchange_cell(bytes: &mut Vec<u8>, other: &[u8], words: &[&str], numbers: &mut Numbers) {
    let (mine, theirs) = (cells(bytes), cells(other));
    let cell = mine[numbers.below(mine.len())].clone();
    let new = match numbers.below(2) {
        0 => &other[theirs[numbers.below(theirs.len())].clone()],
        _ => numbers.one(words).as_bytes(),
    };
    drop(bytes.splice(cell, new.iter().copied()));
}

fn number(bytes: &mut Vec<u8>, at: usize, numbers: &mut Numbers) {
    let text = match numbers.below(3) {
        0 => numbers.below(1000).to_string(),
        1 => format!("{}.{}", numbers.below(100), numbers.below(1000)),
        _ => numbers.next().to_string(),
    };
    insert(bytes, at, text.as_bytes());
}

fn repeat(bytes: &mut Vec<u8>, numbers: &mut Numbers) {
    let piece = piece(bytes, numbers);
    let what = if piece.is_empty() { b"1\n".to_vec() } else { bytes[piece.clone()].to_vec() };
    let times = numbers.below(LONGEST_REPEATED / what.len());
    insert(bytes, piece.end, &what.repeat(times));
    bytes.truncate(LONGEST_REPEATED);
}
