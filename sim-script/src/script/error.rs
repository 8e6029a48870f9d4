//! A mistake in a script as a person sees it: what is wrong, where, and what to do about it.

use super::source::Source;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// A mistake in a script, in a table that it reads, or in a value given to one of its parameters.
///
/// `Display` writes it without colours, with the line and the word marked.
#[derive(Debug, Clone)]
pub struct ScriptError(Box<Details>);

#[derive(Debug, Clone)]
struct Details {
    message: String,
    help: Option<String>,
    notes: Vec<String>,
    at: Option<At>,
}

/// A place in a text.
#[derive(Debug, Clone)]
struct At {
    source: Arc<Source>,
    span: Range<usize>,
    also: Option<(Range<usize>, &'static str)>,
}

impl ScriptError {
    pub(crate) fn new(message: impl Into<String>) -> Self {
        Self(Box::new(Details { message: message.into(), help: None, notes: Vec::new(), at: None }))
    }

    pub(crate) fn at(mut self, source: &Arc<Source>, span: Range<usize>) -> Self {
        self.0.at = Some(At { source: Arc::clone(source), span, also: None });
        self
    }

    /// Marks a second word, with a few words about it.
    pub(crate) fn and_at(mut self, span: Range<usize>, label: &'static str) -> Self {
        if let Some(at) = &mut self.0.at {
            at.also = Some((span, label));
        }
        self
    }

    pub(crate) fn help(mut self, help: impl Into<Option<String>>) -> Self {
        self.0.help = help.into().filter(|help| !help.is_empty());
        self
    }

    pub(crate) fn note(mut self, note: String) -> Self {
        self.0.notes.push(note);
        self
    }

    pub(crate) fn notes(&self) -> usize {
        self.0.notes.len()
    }

    /// What is wrong, in one sentence.
    #[must_use]
    pub fn message(&self) -> &str {
        &self.0.message
    }

    /// What to do about it, if there is something to say.
    #[must_use]
    pub fn fix(&self) -> Option<&str> {
        self.0.help.as_deref()
    }

    /// The name of the script or table and the line in it, from 1.
    #[must_use]
    pub fn place(&self) -> Option<(&str, usize)> {
        self.0.at.as_ref().map(|at| (at.source.name.as_str(), at.source.line(at.span.start)))
    }

    /// The whole text with colours, for a terminal.
    #[must_use]
    pub fn coloured(&self) -> String {
        self.render(&Renderer::styled())
    }

    fn render(&self, renderer: &Renderer) -> String {
        let Details { message, help, notes, at } = &*self.0;
        let mut group = Level::ERROR.primary_title(message.as_str()).elements(at.as_ref().map(|at| {
            let also = at
                .also
                .as_ref()
                .map(|(span, label)| AnnotationKind::Context.span(span.clone()).label(*label));
            Snippet::source(at.source.text.as_str())
                .path(at.source.name.as_str())
                .annotation(AnnotationKind::Primary.span(at.span.clone()))
                .annotations(also)
        }));
        group = group.elements(notes.iter().map(|note| Level::NOTE.message(note.as_str())));
        group = group.elements(help.iter().map(|help| Level::HELP.message(help.as_str())));
        renderer.render(&[group])
    }
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(&Renderer::plain()))
    }
}

impl std::error::Error for ScriptError {}
