//! What is doubtful in a book.

use super::number::plural;
use crate::book::audit::{Finding, Severity};
use serde_json::json;

/// The findings in words, the gravest first.
pub fn findings_text(findings: &[Finding], width: usize) -> String {
    if findings.is_empty() {
        return "nothing doubtful".to_owned();
    }
    let mut text = format!("{}\n", plural(findings.len(), "finding"));
    for severity in Severity::ALL {
        let group: Vec<&Finding> = findings.iter().filter(|f| f.severity() == severity).collect();
        if !group.is_empty() {
            text += &format!("\n{severity}:\n");
            text.extend(group.iter().map(|finding| item(&finding.to_string(), width)));
        }
    }
    text
}

/// One finding, wrapped at words and hung under its dash.
fn item(sentence: &str, width: usize) -> String {
    let room = width.saturating_sub(4).max(20);
    let mut lines = vec![String::new()];
    for word in sentence.split_whitespace() {
        let last = lines.last().map_or(0, |line| line.chars().count());
        if last > 0 && last + 1 + word.chars().count() > room {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    format!("  - {}\n", lines.join("\n    "))
}

/// The findings as one JSON object.
pub fn findings_json(findings: &[Finding]) -> String {
    let findings: Vec<_> = findings
        .iter()
        .map(|finding| {
            json!({ "severity": finding.severity().to_string(), "message": finding.to_string() })
        })
        .collect();
    json!({ "findings": findings }).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_finding_hangs_under_its_dash() {
        let text = item("the spine of T1 is thinner than its fore-edge as sewn", 30);
        assert_eq!(text, "  - the spine of T1 is thinner\n    than its fore-edge as sewn\n");
    }
}
