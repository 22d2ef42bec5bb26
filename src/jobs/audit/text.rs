//! The findings of an audit, as text and as JSON.

use crate::book::{Finding, Severity};
use crate::terminal::json::spelt;
use crate::terminal::number::plural;
use crate::terminal::words::hanging;
use crate::units::LengthUnit;
use serde_json::json;

/// The findings as text: errors, then suspect entries, then notes, each in file order.
pub fn findings_text(findings: &[Finding], unit: LengthUnit, width: usize) -> String {
    let of = |severity| findings.iter().filter(move |finding| finding.severity() == severity);
    let (checks, notes) = (of(Severity::Check).count(), of(Severity::Note).count());
    let wrong = of(Severity::Wrong).count();
    let mut text = match wrong {
        0 => String::new(),
        count => {
            format!("{} wrong; the book cannot be used until fixed:\n", plural(count, "entry"))
        }
    };
    text.extend(of(Severity::Wrong).map(|finding| item(&finding.said(unit), width)));
    if wrong > 0 && checks > 0 {
        text.push('\n');
    }
    text += &match checks {
        0 if wrong > 0 => String::new(),
        0 => "nothing suspect\n".to_owned(),
        count => format!("{} to look at again:\n", plural(count, "entry")),
    };
    text.extend(of(Severity::Check).map(|finding| item(&finding.said(unit), width)));
    if notes > 0 {
        text += "\ngood to know:\n";
        text.extend(of(Severity::Note).map(|finding| item(&finding.said(unit), width)));
    }
    text
}

/// One finding, with a hanging indent under its dash.
fn item(sentence: &str, width: usize) -> String {
    format!("{}\n", hanging(&format!("  - {sentence}"), width, 4))
}

/// The findings as one JSON object. Rows are numbered as a spreadsheet shows them.
pub fn findings_json(findings: &[Finding], unit: LengthUnit) -> String {
    let object = |finding: &Finding| {
        let place = finding.place();
        json!({
            "severity": finding.severity().word(),
            "file": place.file,
            "row": place.row,
            "column": place.column,
            "message": finding.said(unit),
        })
    };
    let document = json!({ "findings": findings.iter().map(object).collect::<Vec<_>>() });
    spelt(document.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_finding_hangs_under_its_dash() {
        let text = item("the spine of T1 is thinner than its fore-edge as sewn", 30);
        assert_eq!(text, "  - the spine of T1 is\n    thinner than its fore-edge\n    as sewn\n");
    }
}
