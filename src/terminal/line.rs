//! Reads lines of bounded length from a person or a gauge.

use crate::units::LONGEST_LINE;
use std::io::{BufRead, Read};

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// A line without its end, as bytes. One byte more than [`LONGEST_LINE`] means that it was cut.
    Bytes(Vec<u8>),
    /// The input ended. An unterminated last line counts as incomplete and is left out.
    End,
}

/// Reads one line. Bytes beyond [`LONGEST_LINE`] are skipped, never stored.
pub fn read_line(input: &mut dyn BufRead) -> std::io::Result<Line> {
    let mut bytes = Vec::new();
    (&mut *input).take(LONGEST_LINE as u64 + 1).read_until(b'\n', &mut bytes)?;
    if bytes.last() == Some(&b'\n') {
        bytes.pop();
        return Ok(Line::Bytes(bytes));
    }
    if bytes.len() <= LONGEST_LINE {
        return Ok(Line::End);
    }
    Ok(if skip_line(input)? { Line::Bytes(bytes) } else { Line::End })
}

/// Skips the rest of a line; returns whether it was terminated.
fn skip_line(input: &mut dyn BufRead) -> std::io::Result<bool> {
    loop {
        let buffer = input.fill_buf()?;
        let length = buffer.len();
        match buffer.iter().position(|byte| *byte == b'\n') {
            Some(end) => {
                input.consume(end + 1);
                return Ok(true);
            }
            None if length == 0 => return Ok(false),
            None => input.consume(length),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &[u8]) -> Vec<Line> {
        let mut input = text;
        let mut lines = Vec::new();
        loop {
            match read_line(&mut input).unwrap() {
                Line::End => return lines,
                line => lines.push(line),
            }
        }
    }

    #[test]
    fn a_burst_keeps_every_line_and_drops_a_torn_one() {
        let wanted = [b"1.25".to_vec(), b"1.26\r".to_vec(), Vec::new()].map(Line::Bytes);
        assert_eq!(lines(b"1.25\n1.26\r\n\n1.2"), wanted);
    }

    #[test]
    fn an_endless_line_is_bounded_and_the_next_one_kept() {
        let mut text = vec![b'9'; 50_000];
        text.extend(b"\n1.25\n");
        let found = lines(&text);
        let [Line::Bytes(long), Line::Bytes(next)] = &found[..] else { panic!("{found:?}") };
        assert_eq!((long.len(), &next[..]), (LONGEST_LINE + 1, &b"1.25"[..]));
        assert!(lines(&[b'9'; 50_000]).is_empty());
    }
}
