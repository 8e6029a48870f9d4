//! What pictures of suitable days share: the page with its heading, the marks of months, the fan of years. What is drawn
//! on a page is not here.

use crate::words::number;
use std::fmt::{Arguments, Write as _};

/// Left edge of what is drawn and top of the first line of text below the heading's, in pixels.
pub(super) const LEFT: f64 = 46.0;
pub(super) const TOP: f64 = 60.0;
/// Height of the fan, and of a line of text.
pub(super) const FAN: f64 = 120.0;
pub(super) const LINE: f64 = 14.0;
/// About how many letters go on a line.
const LETTERS: usize = 145;

/// The shares of the years in a fan.
pub(super) const FAN_SHARES: [f64; 5] = [0.1, 0.25, 0.5, 0.75, 0.9];

/// Weeks that follow one another: the middle of each in pixels from the left, and its suitable days at [`FAN_SHARES`].
pub(super) type Run = Vec<(f64, [f64; 5])>;

/// A picture as SVG, being drawn.
pub(super) struct Page(String);

impl Page {
    /// A page with a heading, and lines below it.
    pub(super) fn new([width, height]: [f64; 2], heading: &str, about: &[String]) -> Self {
        let mut page = Self(String::new());
        page.add(format_args!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" \
             height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"11\" role=\"img\">"
        ));
        page.add(format_args!("<title>{}</title>", escaped(heading)));
        page.add(format_args!("<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>"));
        page.add(format_args!(
            "<text x=\"{LEFT}\" y=\"22\" font-size=\"15\" font-weight=\"bold\" fill=\"#222\">{}</text>",
            escaped(heading)
        ));
        for (line, text) in about.iter().enumerate() {
            page.note(LEFT, 40.0 + line as f64 * LINE, text);
        }
        page
    }

    /// Puts a line to the end.
    pub(super) fn add(&mut self, line: Arguments<'_>) {
        // Writing into a string does not fail.
        let _ = self.0.write_fmt(line);
        self.0.push('\n');
    }

    /// Words of explanation.
    pub(super) fn note(&mut self, x: f64, y: f64, text: &str) {
        self.add(format_args!("<text x=\"{x}\" y=\"{y:.0}\" fill=\"#555\">{}</text>", escaped(text)));
    }

    /// A small name that ends at the left edge.
    pub(super) fn left_of_edge(&mut self, y: f64, name: &str) {
        let x = LEFT - 5.0;
        self.add(format_args!(
            "<text x=\"{x:.0}\" y=\"{y:.1}\" text-anchor=\"end\" font-size=\"9\" fill=\"#555\">{name}</text>"
        ));
    }

    /// Where a month begins: its name, and a line through each of some heights.
    pub(super) fn month(&mut self, name: &str, x: f64, y: f64, through: [(f64, f64); 2]) {
        self.add(format_args!("<text x=\"{:.1}\" y=\"{y}\" fill=\"#555\">{name}</text>", x + 2.0));
        for (from, to) in through {
            self.add(format_args!(
                "<line x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"{from:.1}\" y2=\"{to:.1}\" stroke=\"#bbb\" stroke-width=\"0.5\"/>"
            ));
        }
    }

    /// Suitable days in each week of the year: the middle half and the middle eight tenths of the years, and the median.
    pub(super) fn fan(&mut self, top: f64, right: f64, runs: &[Run]) {
        let y = |days: f64| top + FAN - days / 7.0 * FAN;
        for days in [0.0, 2.0, 4.0, 6.0, 7.0] {
            self.add(format_args!(
                "<line x1=\"{LEFT}\" x2=\"{right:.1}\" y1=\"{0:.1}\" y2=\"{0:.1}\" stroke=\"#ddd\" stroke-width=\"0.5\"/>",
                y(days)
            ));
            self.left_of_edge(y(days) + 3.0, &number(days, 0));
        }
        for run in runs {
            let point = |(x, days): &(f64, [f64; 5]), at: usize| format!("{x:.1},{:.1} ", y(days[at]));
            let line = |at: usize| -> String { run.iter().map(|week| point(week, at)).collect() };
            let back = |at: usize| -> String { run.iter().rev().map(|week| point(week, at)).collect() };
            for (low, high, fill) in [(0, 4, "#f1e0b8"), (1, 3, "#e0bd6d")] {
                self.add(format_args!("<polygon points=\"{}{}\" fill=\"{fill}\"/>", line(low), back(high)));
            }
            self.add(format_args!(
                "<polyline points=\"{}\" fill=\"none\" stroke=\"#7a5a12\" stroke-width=\"1.6\"/>",
                line(2)
            ));
        }
        self.note(
            LEFT,
            top + FAN + 18.0,
            "suitable days a week: line, the middle year; dark, the middle half of the years; light, eight years in ten",
        );
    }

    /// The whole picture.
    pub(super) fn end(mut self) -> String {
        self.add(format_args!("</svg>"));
        self.0
    }
}

/// Parts one after the other, broken into lines between them.
pub(super) fn lines(parts: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for part in parts {
        match lines.last_mut() {
            Some(line) if line.chars().count() + part.chars().count() + 2 <= LETTERS => {
                *line += "; ";
                *line += part;
            }
            _ => lines.push(part.clone()),
        }
    }
    lines
}

/// Text in which XML's own marks are written out.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
