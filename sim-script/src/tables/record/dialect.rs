//! How a table is written, found from its text.

use crate::tables::skip_to_row;

/// How a record's file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dialect {
    /// Whether a byte-order mark stands before the text.
    pub byte_order_mark: bool,
    /// Whether lines end in a carriage return and a line feed, not in a line feed alone.
    pub carriage_returns: bool,
    /// What stands between values: a comma, a semicolon or a tab.
    pub separator: char,
    /// What stands before decimals: a point, or a comma where values are not separated by one.
    pub decimal: char,
}

impl Dialect {
    /// Of a text without its mark that has a header at byte `header`; the sign before decimals is left a point.
    pub(crate) fn of(text: &str, byte_order_mark: bool, header: usize) -> Self {
        let first_end = text[header..].find('\n').map_or(text.len(), |at| header + at + 1);
        let (first, second) = (&text[header..first_end], skip_to_row(text, first_end));
        let second = text[second..].lines().next().unwrap_or_default();
        Self {
            byte_order_mark,
            carriage_returns: first.ends_with("\r\n"),
            separator: separator(first, second),
            decimal: '.',
        }
    }
}

/// The sign that separates header and first row into as many values, the most if several do; if none does, the
/// sign that the header has most.
fn separator(header: &str, row: &str) -> char {
    let counts = ['\t', ';', ','].map(|sign| (sign, count(header, sign), count(row, sign)));
    let alike = counts.iter().filter(|(_, in_header, in_row)| in_header == in_row && *in_header > 0);
    let most = |best: (char, usize), (sign, number, _): &(char, usize, usize)| {
        if *number > best.1 { (*sign, *number) } else { best }
    };
    let (sign, number) = alike.fold((',', 0), most);
    if number > 0 { sign } else { counts.iter().fold((',', 0), most).0 }
}

/// How often a sign stands outside quotes.
fn count(line: &str, sign: char) -> usize {
    let mut quoted = false;
    line.chars()
        .filter(|letter| {
            quoted ^= *letter == '"';
            !quoted && *letter == sign
        })
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_the_one_that_cuts_header_and_row_alike() {
        for (header, row, sign) in [
            ("date,rain", "2020-01-01,1.5", ','),
            ("date;rain", "2020-01-01;1,5", ';'),
            ("date\train", "2020-01-01\t1,5", '\t'),
            ("date;rain, mm;wind, m/s", "2020-01-01;1,5;2", ';'),
            ("date;rain, mm", "2020-01-01;1,5", ';'),
            ("date,\"a;b;c\"", "2020-01-01,1.5", ','),
            ("date,rain,wind", "2020-01-01,1.5", ','),
            ("date", "2020-01-01", ','),
        ] {
            assert_eq!(separator(header, row), sign, "{header}");
        }
    }
}
