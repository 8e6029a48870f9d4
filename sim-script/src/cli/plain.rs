//! Plain text for a terminal: tables with a line under the header, paragraphs, all within one width.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};

/// Columns of a terminal that all text keeps within.
const WIDTH: u16 = 100;

/// How a column fills its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    /// Text that may be broken between words.
    Text,
    /// Never broken.
    Whole,
    /// A number: never broken, to the right.
    Number,
}

/// A table.
#[derive(Debug)]
pub(super) struct Plain {
    table: Table,
    fits: Vec<Fit>,
    /// The longest word of each column.
    longest: Vec<usize>,
}

const LINED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('-').junction('-'));

/// Spaces between columns.
const GAP: u16 = 2;

impl Plain {
    /// A table with these columns; `\n` breaks a header.
    pub(super) fn new(columns: &[(&str, Fit)]) -> Self {
        let mut table = Table::new();
        table
            .load_style(LINED)
            .force_no_tty()
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(WIDTH)
            .set_header(columns.iter().map(|(name, _)| *name));
        let fits = columns.iter().map(|(_, fit)| *fit).collect();
        let longest = columns.iter().map(|(name, _)| longest_word(name)).collect();
        Self { table, fits, longest }
    }

    /// Adds a row.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        let cells: Vec<String> = cells.into_iter().collect();
        for (longest, cell) in self.longest.iter_mut().zip(&cells) {
            *longest = (*longest).max(longest_word(cell));
        }
        self.table.add_row(cells);
    }

    /// The table as text, no spaces at the ends of its lines.
    pub(super) fn text(mut self) -> String {
        for (index, (fit, longest)) in self.fits.iter().zip(&self.longest).enumerate() {
            let gap = if index + 1 < self.fits.len() { GAP } else { 0 };
            let Some(column) = self.table.column_mut(index) else { continue };
            column.set_padding((0, gap));
            column.set_constraint(match fit {
                Fit::Text => ColumnConstraint::LowerBoundary(Width::Fixed(*longest as u16 + gap)),
                Fit::Whole | Fit::Number => ColumnConstraint::ContentWidth,
            });
            if *fit == Fit::Number {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        self.table.lines().fold(String::new(), |mut text, line| {
            text.push_str(line.trim_end());
            text.push('\n');
            text
        })
    }
}

fn longest_word(text: &str) -> usize {
    text.split_whitespace().map(|word| word.chars().count()).max().unwrap_or(0)
}

/// Adds a paragraph beside a name, broken into lines that begin after so many spaces.
pub(super) fn hanging(text: &mut String, name: &str, spaces: usize, paragraph: &str) {
    let mut lines = String::new();
    wrapped_to(&mut lines, usize::from(WIDTH) - spaces, paragraph);
    for (index, line) in lines.lines().enumerate() {
        let before = if index == 0 { name } else { "" };
        text.push_str(&format!("{before:spaces$}{line}\n"));
    }
}

/// Adds a paragraph, broken into lines.
pub(super) fn wrapped(text: &mut String, paragraph: &str) {
    wrapped_to(text, usize::from(WIDTH), paragraph);
}

fn wrapped_to(text: &mut String, most: usize, paragraph: &str) {
    let mut width = 0;
    for word in paragraph.split_whitespace() {
        let long = word.chars().count();
        if width > 0 && width + 1 + long > most {
            text.push('\n');
            width = 0;
        }
        if width > 0 {
            text.push(' ');
            width += 1;
        }
        text.push_str(word);
        width += long;
    }
    text.push('\n');
}
