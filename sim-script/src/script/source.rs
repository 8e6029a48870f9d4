//! A text that a person wrote, cut into tokens, and the search for the word to mark in it.
//!
//! Rhai says where a call stands, not where its keys and values do: those are found here, by walking the
//! tokens from the call to its closing bracket. Nothing here judges what was written.

use std::ops::Range;
use std::sync::OnceLock;

/// A script or a table, with its name for messages.
pub(crate) struct Source {
    /// The name that messages show.
    pub(crate) name: String,
    /// The whole text.
    pub(crate) text: String,
    tokens: OnceLock<Vec<Token>>,
    lines: OnceLock<Vec<usize>>,
}

impl std::fmt::Debug for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Source").field(&self.name).finish()
    }
}

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TokenKind {
    /// A name or a reserved word.
    Word,
    /// A number.
    Number,
    /// A text in quotes of any kind, the quotes counted.
    Text,
    /// `(`, `[`, `{` or `#{`.
    Open,
    /// `)`, `]` or `}`.
    Close,
    /// Any other character.
    Sign,
}

/// A token: its bytes in the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Token {
    /// What it is.
    pub(crate) kind: TokenKind,
    /// First byte.
    pub(crate) start: usize,
    /// The byte after the last.
    pub(crate) end: usize,
    /// How many brackets are open before it.
    pub(crate) depth: usize,
}

/// Which word of a call to mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Mark {
    /// The verb itself.
    Call,
    /// The call's argument with this number, from 0.
    Argument(usize),
    /// The key, where it is written.
    Key(String),
    /// The value of the key; within it the text or number `word`, if it is there.
    Value {
        /// The key.
        key: String,
        /// What to look for in its value.
        word: Option<String>,
    },
    /// The text, number or key that reads like this, the outermost one.
    Word(String),
}

impl Source {
    pub(crate) fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into(), tokens: OnceLock::new(), lines: OnceLock::new() }
    }

    /// All tokens; comments and spaces are none.
    pub(crate) fn tokens(&self) -> &[Token] {
        self.tokens.get_or_init(|| tokenize(&self.text))
    }

    /// The text of a token.
    pub(crate) fn word(&self, token: Token) -> &str {
        &self.text[token.start..token.end]
    }

    /// The byte at a line and a column, both from 1, columns in characters.
    pub(crate) fn offset(&self, line: usize, column: usize) -> usize {
        let lines = self.lines.get_or_init(|| {
            let ends = self.text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
            std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect()
        });
        let Some(start) = lines.get(line.saturating_sub(1)) else { return self.text.len() };
        let rest = &self.text[*start..];
        let within = rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(at, _)| at);
        start + within
    }

    /// The byte of a position that Rhai gives; the end where it gives none.
    pub(crate) fn byte_of(&self, position: rhai::Position) -> usize {
        position.line().map_or(self.text.len(), |line| self.offset(line, position.position().unwrap_or(1)))
    }

    /// The line of a byte, from 1.
    pub(crate) fn line(&self, offset: usize) -> usize {
        let before = &self.text.as_bytes()[..offset.min(self.text.len())];
        1 + before.iter().filter(|byte| **byte == b'\n').count()
    }

    /// The number of the token at or after a byte.
    pub(crate) fn token_at(&self, offset: usize) -> usize {
        self.tokens().partition_point(|token| token.end <= offset)
    }

    /// The bytes of the token at or after a byte; the end of the text if there is none.
    pub(crate) fn span_at(&self, offset: usize) -> Range<usize> {
        match self.tokens().get(self.token_at(offset)) {
            Some(token) => token.start..token.end,
            None => {
                let end = self.text.trim_end().len();
                let start = self.text[..end].char_indices().next_back().map_or(0, |(at, _)| at);
                start..end
            }
        }
    }

    /// The bytes of the operator at a byte with the numbers or names on both sides of it.
    pub(crate) fn operation_at(&self, offset: usize) -> Range<usize> {
        let (at, span) = (self.token_at(offset), self.span_at(offset));
        let plain = |at: Option<usize>| {
            let token = *self.tokens().get(at?)?;
            matches!(token.kind, TokenKind::Number | TokenKind::Word).then_some(token)
        };
        match (plain(at.checked_sub(1)), plain(Some(at + 1))) {
            (Some(left), Some(right)) if !self.text[left.start..right.end].contains('\n') => {
                left.start..right.end
            }
            _ => span,
        }
    }

    /// The bytes to mark of the call at `offset`; the call itself if the word is not written in it.
    pub(crate) fn find(&self, offset: usize, mark: &Mark) -> Range<usize> {
        let call = self.token_at(offset);
        self.find_in_call(call, mark).unwrap_or_else(|| self.span_at(offset))
    }

    /// The bytes to mark of the call at `offset`, if the word is written in it.
    pub(crate) fn try_find(&self, offset: usize, mark: &Mark) -> Option<Range<usize>> {
        self.find_in_call(self.token_at(offset), mark)
    }

    /// The tokens of the value of a key of the call at `offset`, on however many lines it stands.
    pub(crate) fn value(&self, offset: usize, key: &str) -> Option<Range<usize>> {
        let inside = self.inside(self.token_at(offset))?;
        let at = self.key(&inside, key)?;
        Some(self.expression(at + 2, inside.end))
    }

    /// The same, but only if it is just `word`.
    pub(crate) fn find_exactly(&self, offset: usize, mark: &Mark, word: &str) -> Option<Range<usize>> {
        self.try_find(offset, mark).filter(|span| self.text[span.clone()] == *word)
    }

    fn find_in_call(&self, call: usize, mark: &Mark) -> Option<Range<usize>> {
        let inside = self.inside(call)?;
        match mark {
            Mark::Call => None,
            Mark::Argument(number) => self.argument(inside, *number),
            Mark::Key(key) => self.key(&inside, key).map(|at| self.span(at..at + 1)),
            Mark::Value { key, word } => {
                let at = self.key(&inside, key)?;
                let value = self.expression(at + 2, inside.end);
                let word = word.as_ref().and_then(|word| self.literal(&value, word));
                Some(match word {
                    Some(span) => span,
                    None if value.is_empty() || self.text[self.span(value.clone())].contains('\n') => {
                        self.span(at..at + 1)
                    }
                    None => self.span(value),
                })
            }
            Mark::Word(word) => self
                .literal(&inside, word)
                .or_else(|| self.key(&inside, word).map(|at| self.span(at..at + 1))),
        }
    }

    /// The tokens between a call's brackets.
    pub(crate) fn inside(&self, call: usize) -> Option<Range<usize>> {
        let tokens = self.tokens();
        let open = tokens.get(call + 1).filter(|token| self.word(**token) == "(")?;
        let rest = &tokens[call + 2..];
        let close = rest.iter().position(|token| token.depth <= open.depth).unwrap_or(rest.len());
        Some(call + 2..call + 2 + close)
    }

    /// The bytes of the argument with this number, if it lies on one line; else those of its first token.
    fn argument(&self, inside: Range<usize>, number: usize) -> Option<Range<usize>> {
        let mut start = inside.start;
        for _ in 0..number {
            start = self.expression(start, inside.end).end + 1;
        }
        let argument = self.expression(start, inside.end);
        if argument.is_empty() {
            return None;
        }
        let span = self.span(argument.clone());
        let one_line = !self.text[span.clone()].contains('\n');
        Some(if one_line { span } else { self.span(argument.start..argument.start + 1) })
    }

    /// The number of the outermost token that is this key.
    fn key(&self, inside: &Range<usize>, key: &str) -> Option<usize> {
        let tokens = self.tokens();
        let is_key = |at: &usize| {
            let is =
                |next: usize, sign: &str| tokens.get(next).is_some_and(|token| self.word(*token) == sign);
            let named = matches!(tokens[*at].kind, TokenKind::Word | TokenKind::Text);
            named && self.content(tokens[*at]) == key && is(at + 1, ":") && !is(at + 2, ":")
        };
        inside.clone().filter(is_key).min_by_key(|at| tokens[*at].depth)
    }

    /// The tokens from `start` to the comma or bracket that ends the expression.
    fn expression(&self, start: usize, end: usize) -> Range<usize> {
        let tokens = self.tokens();
        if start >= end.min(tokens.len()) {
            return start..start;
        }
        let depth = tokens[start].depth;
        let ends = |token: &Token| token.depth < depth || token.depth == depth && self.word(*token) == ",";
        let length = tokens[start..end].iter().position(ends).unwrap_or(end - start);
        start..start + length
    }

    /// The bytes of the outermost text or number that reads like `word`; of a text without its quotes.
    fn literal(&self, inside: &Range<usize>, word: &str) -> Option<Range<usize>> {
        let tokens = &self.tokens()[inside.clone()];
        let found = tokens
            .iter()
            .filter(|token| match token.kind {
                TokenKind::Text => self.content(**token) == word,
                TokenKind::Number => {
                    let (given, wanted) = (self.word(**token).parse::<f64>(), word.parse::<f64>());
                    given.is_ok() && given == wanted
                }
                _ => false,
            })
            .min_by_key(|token| token.depth)
            .or_else(|| {
                let holds =
                    |token: &&Token| token.kind == TokenKind::Text && self.word(**token).contains(word);
                tokens.iter().filter(|_| word.len() > 2).find(holds)
            })?;
        let at = self.word(*found).find(word).filter(|_| !word.is_empty());
        Some(match at {
            Some(at) if found.kind == TokenKind::Text => found.start + at..found.start + at + word.len(),
            _ => found.start..found.end,
        })
    }

    /// A text without its quotes; any other token as it is.
    pub(crate) fn content(&self, token: Token) -> &str {
        let word = self.word(token);
        if token.kind == TokenKind::Text && word.len() >= 2 {
            let word = word.trim_start_matches('#').trim_end_matches('#');
            word.get(1..word.len() - 1).unwrap_or_default()
        } else {
            word
        }
    }

    fn span(&self, range: Range<usize>) -> Range<usize> {
        let tokens = self.tokens();
        tokens[range.start].start..tokens[range.end - 1].end
    }
}

/// Cuts a text into tokens; text that no language has becomes signs.
fn tokenize(text: &str) -> Vec<Token> {
    let bytes = text.as_bytes();
    let mut tokens = Vec::new();
    let mut depth = 0usize;
    let mut at = 0;
    while at < bytes.len() {
        let start = at;
        let rest = &text[at..];
        let next = rest.chars().next().unwrap_or(' ');
        let kind = if next.is_whitespace() {
            at += next.len_utf8();
            continue;
        } else if rest.starts_with("//") {
            at += rest.find('\n').unwrap_or(rest.len());
            continue;
        } else if rest.starts_with("/*") {
            at += comment(rest);
            continue;
        } else if next.is_alphabetic() || next == '_' {
            at += rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
            TokenKind::Word
        } else if next.is_ascii_digit() {
            at += number(rest);
            TokenKind::Number
        } else if matches!(next, '"' | '`' | '\'') {
            at += quoted(rest, next);
            TokenKind::Text
        } else if rest.starts_with("#{") {
            at += 2;
            TokenKind::Open
        } else if matches!(next, '(' | '[' | '{') {
            at += 1;
            TokenKind::Open
        } else if matches!(next, ')' | ']' | '}') {
            at += 1;
            depth = depth.saturating_sub(1);
            TokenKind::Close
        } else {
            at += next.len_utf8();
            TokenKind::Sign
        };
        tokens.push(Token { kind, start, end: at, depth });
        if kind == TokenKind::Open {
            depth += 1;
        }
    }
    tokens
}

/// The length of a comment between `/*` and `*/`, which may hold others.
fn comment(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let (mut open, mut at) = (0usize, 0);
    while at < bytes.len() {
        if rest.as_bytes()[at..].starts_with(b"/*") {
            open += 1;
            at += 2;
        } else if bytes[at..].starts_with(b"*/") {
            open -= 1;
            at += 2;
            if open == 0 {
                return at;
            }
        } else {
            at += 1;
        }
    }
    bytes.len()
}

/// The length of a number; `1..5` is two numbers and `5.max` a number and a name.
fn number(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let mut at = 1;
    while at < bytes.len() {
        let digit_follows = bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
        let exponent_sign = matches!(bytes[at], b'+' | b'-') && matches!(bytes[at - 1], b'e' | b'E');
        let goes_on = bytes[at].is_ascii_alphanumeric()
            || bytes[at] == b'_'
            || (bytes[at] == b'.' || exponent_sign) && digit_follows;
        if !goes_on {
            break;
        }
        at += 1;
    }
    at
}

/// The length of a text in quotes, to the end of the line where it is not closed (back-quotes: of the text).
fn quoted(rest: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        if c == '\n' && quote != '`' {
            return at;
        }
        if escaped {
            escaped = false;
        } else if c == '\\' && quote != '`' {
            escaped = true;
        } else if c == quote {
            return at + 1;
        }
    }
    rest.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        let source = Source::new("t", text);
        source.tokens().iter().map(|token| source.word(*token).to_string()).collect()
    }

    #[test]
    fn comments_and_texts_hide_what_is_in_them() {
        let text = "a(\"b, // (\", /* [ /* { */ */ 1.5e-3, 'x') // end )\n2..3";
        assert_eq!(
            words(text),
            ["a", "(", "\"b, // (\"", ",", "1.5e-3", ",", "'x'", ")", "2", ".", ".", "3"]
        );
    }

    #[test]
    fn the_word_is_found_in_its_own_call() {
        let text = "x(\"speed\", #{ y: z(\"b\", #{ width: 1 }), width: 2, speed: 3 }) width(4)";
        let source = Source::new("t", text);
        let found = |mark: Mark| &text[source.find(0, &mark)];
        let outer = text.find("width: 2").unwrap();
        assert_eq!(source.find(0, &Mark::Key("width".into())), outer..outer + 5);
        assert_eq!(found(Mark::Value { key: "width".into(), word: None }), "2");
        assert_eq!(found(Mark::Value { key: "y".into(), word: None }), "z(\"b\", #{ width: 1 })");
        assert_eq!(found(Mark::Value { key: "y".into(), word: Some("b".into()) }), "b");
        assert_eq!(found(Mark::Argument(0)), "\"speed\"");
        assert_eq!(found(Mark::Word("speed".into())), "speed");
        assert_eq!(found(Mark::Word("nowhere".into())), "x");
    }

    #[test]
    fn any_text_can_be_cut() {
        for text in
            ["", "\"", "'", "`", "/*", "/* /*", "#{", ")))", "é(\"ü", "1e", "a(", "a(b:", "a(b:,", "a(b::"]
        {
            let source = Source::new("t", text);
            for offset in 0..=text.len() + 1 {
                for mark in [Mark::Call, Mark::Argument(1), Mark::Key("b".into()), Mark::Word("b".into())] {
                    let span = source.find(offset, &mark);
                    assert!(text.get(span).is_some(), "{text} {offset} {mark:?}");
                }
                let mark = Mark::Value { key: "b".into(), word: Some(String::new()) };
                assert!(text.get(source.find(offset, &mark)).is_some(), "{text} {offset}");
            }
        }
    }
}
