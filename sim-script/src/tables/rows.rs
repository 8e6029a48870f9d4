//! Where rows and cells stand in the text of a table, for messages that mark them.

use std::ops::Range;

/// The first byte at or after `start` of a line that is a row: not blank, no comment.
pub(crate) fn skip_to_row(text: &str, start: usize) -> usize {
    let mut at = start;
    for line in text.get(start..).unwrap_or_default().split_inclusive('\n') {
        if !line.trim().is_empty() && !line.starts_with('#') {
            break;
        }
        at += line.len();
    }
    at
}

/// The bytes of a value of the row with which `rest` begins; of an empty one, the separator before it.
pub(crate) fn cell_span(rest: &str, separator: char, column: usize) -> Range<usize> {
    let (mut quoted, mut number, mut start) = (false, 0, 0);
    let mut end = rest.len();
    for (at, c) in rest.char_indices() {
        match c {
            '"' => quoted = !quoted,
            c if c == separator && !quoted && number == column => {
                end = at;
                break;
            }
            c if c == separator && !quoted => {
                number += 1;
                start = at + 1;
            }
            '\n' if !quoted => {
                end = at;
                break;
            }
            _ => {}
        }
    }
    let value = &rest[start..end];
    let before = value.len() - value.trim_start().len();
    let length = value.trim().len();
    if length == 0 { start.saturating_sub(1)..end } else { start + before..start + before + length }
}
