//! A mistake in a record or in its mapping as a person sees it: what is wrong, where, and what to do about it.

use super::mistake::Mistake;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;

/// A mistake in a record or in its mapping.
///
/// `Display` writes it without colours, with the line and the cell marked.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordReadError(Box<Details>);

#[derive(Debug, Clone, PartialEq)]
struct Details {
    mistake: Mistake,
    file: Option<String>,
    at: Option<At>,
}

/// A place in a file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct At {
    /// The line of the file, from 1.
    pub(crate) line: usize,
    /// Its text.
    pub(crate) text: String,
    /// What to mark in it.
    pub(crate) span: Range<usize>,
}

impl From<Mistake> for RecordReadError {
    fn from(mistake: Mistake) -> Self {
        Self(Box::new(Details { mistake, file: None, at: None }))
    }
}

impl RecordReadError {
    pub(crate) fn in_file(mut self, name: &str) -> Self {
        self.0.file = Some(name.into());
        self
    }

    pub(crate) fn at(mut self, at: At) -> Self {
        self.0.at = Some(at);
        self
    }

    /// What is wrong, in one sentence, with the file, the row and the column where there are such.
    #[must_use]
    pub fn message(&self) -> String {
        let Details { mistake, file, at } = &*self.0;
        let Some(file) = file else { return mistake.to_string() };
        match (at, mistake.column()) {
            (Some(at), Some(column)) => format!("{file}, row {}, column `{column}`: {mistake}", at.line),
            (Some(at), None) if mistake.is_of_a_row() => format!("{file}, row {}, {mistake}", at.line),
            _ => format!("{file} {mistake}"),
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn fix(&self) -> String {
        self.0.mistake.fix()
    }

    /// The line of the file, from 1.
    #[must_use]
    pub fn line(&self) -> Option<usize> {
        self.0.at.as_ref().map(|at| at.line)
    }

    /// The whole text with colours, for a terminal.
    #[must_use]
    pub fn coloured(&self) -> String {
        self.render(&Renderer::styled())
    }

    fn render(&self, renderer: &Renderer) -> String {
        let (message, fix) = (self.message(), self.fix());
        let at = self.0.at.as_ref().map(|at| {
            Snippet::source(at.text.as_str())
                .path(self.0.file.as_deref())
                .line_start(at.line)
                .annotation(AnnotationKind::Primary.span(at.span.clone()))
        });
        let group = Level::ERROR.primary_title(message.as_str()).elements(at);
        renderer.render(&[group.element(Level::HELP.message(fix.as_str()))])
    }
}

impl fmt::Display for RecordReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(&Renderer::plain()))
    }
}

impl std::error::Error for RecordReadError {}
