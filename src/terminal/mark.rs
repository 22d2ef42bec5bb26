//! The mark in every page, picture and table, by which the program knows what it wrote itself and may
//! replace.

/// In the head of a page (HTML, "standard metadata names": `generator`).
pub(crate) const HTML: &str = r#"<meta name="generator" content="swellbook">"#;
/// An attribute of the root of a picture (SVG 2, `data-*` attributes).
pub(crate) const SVG: &str = r#"data-generator="swellbook""#;
/// In a bitmap: keyword and value of a `tEXt` chunk (PNG, its keyword for what made a picture).
pub(crate) const PNG: (&str, &str) = ("Software", "swellbook");

/// The first column of a table of draws.
pub(crate) const DRAWS: &str = "swellbook_draw";

/// How many bytes from the start of a file [`is_marked`] looks at.
const HEAD: usize = 4096;

/// Whether a file that begins with these bytes was made by this program. A page about the program,
/// or one that shows its pictures, is not taken for its own: the file must also begin as those of
/// the program do.
pub fn is_marked(head: &[u8]) -> bool {
    let head = &head[..head.len().min(HEAD)];
    let holds = |mark: &[u8]| head.windows(mark.len()).any(|bytes| bytes == mark);
    let png = [PNG.0, "\0", PNG.1].concat();
    (head.starts_with(b"<!DOCTYPE html>") && holds(HTML.as_bytes()))
        || (head.starts_with(b"<svg") && holds(SVG.as_bytes()))
        || head.starts_with([DRAWS, ","].concat().as_bytes())
        || (head.starts_with(b"\x89PNG\r\n\x1a\n") && holds(png.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_counts_only_in_a_file_of_its_kind() {
        assert!(is_marked(format!("<!DOCTYPE html>\n<head>{HTML}").as_bytes()));
        assert!(!is_marked(format!("<svg>{HTML}").as_bytes()));
        assert!(!is_marked(format!("<!DOCTYPE html>{SVG}").as_bytes()));
        assert!(!is_marked(format!("<svg>{}{SVG}", " ".repeat(HEAD)).as_bytes()));
        assert!(is_marked(b"swellbook_draw,weight\n") && !is_marked(b"draw,weight\n"));
        assert!(!is_marked(b"my own notes on swellbook") && !is_marked(b""));
    }
}
