//! Reads RON text into a tree of values that know their line and column.
//!
//! serde forgets where a value stood, and stops at the first error; the checks that follow need the place of every
//! value. This reader knows RON's syntax and nothing of what is written in it. It stops at the first syntax error and keeps what
//! it has read so far.

/// A place in a text, line and column (in characters) from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Position {
    /// Which of several texts it is in, from 0.
    pub(crate) source: usize,
    pub(crate) line: usize,
    pub(crate) column: usize,
}

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Value {
    /// Where it begins.
    pub(crate) at: Position,
    /// Its characters in the text: the first one, and the one after the last.
    pub(crate) span: (usize, usize),
    pub(crate) kind: Kind,
}

/// The kinds of value RON has, as far as a scenario may use them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// `(name: value, ..)` or `Word(name: value, ..)`; `word` is empty or the word before it. `whole` unless a syntax
    /// error ended it early. Of all kinds only a group is kept then.
    Group { word: String, fields: Vec<Entry>, whole: bool },
    /// `(value, ..)`, with at least one value.
    Tuple(Vec<Value>),
    /// `[value, ..]`
    List(Vec<Value>),
    /// `{"key": value, ..}`
    Map(Vec<Entry>),
    /// `Word` or `Word(value, ..)`
    Word { name: String, contents: Vec<Value> },
    /// `"text"`
    Text(String),
    /// A number as it is written.
    Number(String),
    /// Nothing could be read here: the syntax error is here or further in.
    Unread,
}

/// A named value of a group or a map.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Entry {
    pub(crate) at: Position,
    /// Its first character's place in the text.
    pub(crate) start: usize,
    pub(crate) name: String,
    pub(crate) value: Value,
}

/// The first syntax error.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fault {
    pub(crate) at: Position,
    pub(crate) path: String,
    pub(crate) found: String,
    pub(crate) allowed: String,
    pub(crate) hint: String,
}

/// What was read.
pub(crate) struct Scan {
    pub(crate) root: Value,
    pub(crate) fault: Option<Fault>,
}

/// Deeper than any text of ours; a hostile text must not exhaust the stack.
const DEPTH_MAX: usize = 16;

/// The first character from `from` on that is neither space nor of a comment.
pub(super) fn next_from(chars: &[char], from: usize) -> usize {
    let mut scanner = Scanner::of(0, chars[from..].to_vec());
    scanner.skip_space();
    from + scanner.next
}

/// Reads `text` up to its end or its first syntax error.
pub(crate) fn scan(text: &str) -> Scan {
    scan_source(0, text)
}

/// The same for one of several texts, which every place of it names by its number.
pub(crate) fn scan_source(source: usize, text: &str) -> Scan {
    let mut scanner = Scanner::of(source, text.chars().collect());
    scanner.skip_attributes();
    let root = scanner.value();
    scanner.skip_space();
    if scanner.peek().is_some() {
        scanner.fail("continued after its end", "nothing more", String::new());
    }
    Scan { root, fault: scanner.fault }
}

/// `path` of the field or element `name` of `parent`.
pub(crate) fn join(parent: &str, name: &str) -> String {
    if parent.is_empty() || name.starts_with('[') { format!("{parent}{name}") } else { format!("{parent}.{name}") }
}

/// The value at `path` below `value`, or the innermost one on the way that exists.
pub(crate) fn place<'a>(value: &'a Value, path: &str) -> &'a Value {
    let child = match &value.kind {
        Kind::Group { fields, .. } | Kind::Map(fields) => {
            fields.iter().find_map(|entry| step(path, &entry.name).map(|rest| (&entry.value, rest)))
        }
        Kind::List(values) => {
            values.iter().enumerate().find_map(|(index, v)| step(path, &format!("[{index}]")).map(|rest| (v, rest)))
        }
        _ => None,
    };
    match child {
        Some((inner, rest)) => place(inner, rest),
        None => value,
    }
}

/// What follows `name` in `path`, if it begins with it as a whole step.
fn step<'a>(path: &'a str, name: &str) -> Option<&'a str> {
    let rest = path.strip_prefix(name)?;
    if rest.is_empty() || rest.starts_with('[') { Some(rest) } else { rest.strip_prefix('.') }
}

struct Scanner {
    chars: Vec<char>,
    next: usize,
    at: Position,
    path: String,
    depth: usize,
    /// First line and end of the last text that runs over several lines.
    long_text: Option<(usize, Position)>,
    fault: Option<Fault>,
}

impl Scanner {
    fn of(source: usize, chars: Vec<char>) -> Scanner {
        let at = Position { source, line: 1, column: 1 };
        Scanner { chars, next: 0, at, path: String::new(), depth: 0, long_text: None, fault: None }
    }

    fn value(&mut self) -> Value {
        self.skip_space();
        let (at, start) = (self.at, self.next);
        self.depth += 1;
        let kind = if self.depth > DEPTH_MAX {
            self.fail("nested too deep", &format!("{DEPTH_MAX} levels"), String::new())
        } else {
            self.kind()
        };
        self.depth -= 1;
        Value { at, span: (start, self.next), kind }
    }

    fn kind(&mut self) -> Kind {
        match self.peek() {
            Some('(') if self.has_names() => self.group(String::new()),
            Some('(') => {
                let values = self.values(')');
                if self.fault.is_none() { Kind::Tuple(values) } else { Kind::Unread }
            }
            Some('[') => Kind::List(self.values(']')),
            Some('{') => self.map(),
            Some('"') => self.text(),
            Some('r') if self.is_raw_text() => self.raw_text(),
            Some(c) if is_number_start(c) => Kind::Number(self.take_while(is_number_part)),
            Some(c) if is_word_start(c) => self.word(),
            _ => self.fail_here("a value"),
        }
    }

    /// Whether the `(` ahead opens a group: a name and a colon follow, or nothing.
    fn has_names(&mut self) -> bool {
        let (next, at) = (self.next, self.at);
        self.advance();
        self.skip_space();
        let empty = self.peek() == Some(')');
        let name = self.take_while(is_word_part);
        self.skip_space();
        let named = !name.is_empty() && self.peek() == Some(':');
        (self.next, self.at) = (next, at);
        empty || named
    }

    fn group(&mut self, word: String) -> Kind {
        let mut fields = Vec::new();
        self.items(')', |scanner, _| {
            let (at, start) = (scanner.at, scanner.next);
            let name = scanner.take_while(is_word_part);
            if name.is_empty() {
                scanner.fail_here("a field's name");
            } else if scanner.expect(':') {
                let value = scanner.within(&name);
                fields.push(Entry { at, start, name, value });
            }
        });
        Kind::Group { word, fields, whole: self.fault.is_none() }
    }

    fn values(&mut self, close: char) -> Vec<Value> {
        let mut values = Vec::new();
        let parted = self.items(close, |scanner, index| values.push(scanner.within(&format!("[{index}]"))));
        if !parted {
            // Where a comma is missing, the value before it may not be what its author meant.
            values.pop();
        }
        values
    }

    fn map(&mut self) -> Kind {
        let mut entries = Vec::new();
        self.items('}', |scanner, _| {
            let (at, start) = (scanner.at, scanner.next);
            if scanner.peek() != Some('"') {
                scanner.fail_here("a name in quotes");
            } else if let Kind::Text(name) = scanner.text()
                && scanner.expect(':')
            {
                let value = scanner.within(&name);
                entries.push(Entry { at, start, name, value });
            }
        });
        Kind::Map(entries)
    }

    fn word(&mut self) -> Kind {
        let name = self.take_while(is_word_part);
        let end = (self.next, self.at);
        self.skip_space();
        match self.peek() {
            // A struct may carry its own name, and a variant of an enum does.
            Some('(') if self.has_names() => self.group(name),
            Some('(') => {
                let contents = self.values(')');
                if self.fault.is_none() { Kind::Word { name, contents } } else { Kind::Unread }
            }
            _ => {
                (self.next, self.at) = end;
                Kind::Word { name, contents: Vec::new() }
            }
        }
    }

    fn text(&mut self) -> Kind {
        let opened = self.at.line;
        self.advance();
        let mut text = String::new();
        loop {
            match self.take() {
                Some('"') => {
                    self.long_text = (opened < self.at.line).then_some((opened, self.at));
                    return Kind::Text(text);
                }
                // What an escape stands for does not matter here; that an escaped quote does not end the text does.
                Some('\\') => text.extend(self.take()),
                Some(c) => text.push(c),
                None => return self.fail_unclosed("\"", opened),
            }
        }
    }

    fn is_raw_text(&self) -> bool {
        let rest = &self.chars[self.next + 1..];
        rest.iter().find(|c| **c != '#') == Some(&'"')
    }

    fn raw_text(&mut self) -> Kind {
        let opened = self.at.line;
        self.advance();
        let end = format!("\"{}", self.take_while(|c| c == '#'));
        self.advance();
        let mut text = String::new();
        while !text.ends_with(&end) {
            match self.take() {
                Some(c) => text.push(c),
                None => return self.fail_unclosed(&end, opened),
            }
        }
        text.truncate(text.len() - end.len());
        Kind::Text(text)
    }

    /// Reads `item`s between the opening character ahead and `close`; whether there were commas between them.
    fn items(&mut self, close: char, mut item: impl FnMut(&mut Self, usize)) -> bool {
        let opened = self.at.line;
        self.advance();
        for index in 0.. {
            self.skip_space();
            if self.take_if(close) || self.fault.is_some() {
                return true;
            }
            item(self, index);
            let hint = match self.long_text {
                Some((line, end)) if end == self.at => {
                    format!("the text before it begins in line {line}: its closing quote may be missing")
                }
                _ => format!("opened in line {opened}"),
            };
            self.skip_space();
            if self.fault.is_none() && self.peek() != Some(close) && !self.take_if(',') {
                let found = format!("continued with {}", self.ahead());
                self.fail(&found, &format!("`,` or `{close}`"), hint);
                return false;
            }
        }
        true
    }

    fn within(&mut self, name: &str) -> Value {
        let outer = self.path.clone();
        self.path = join(&outer, name);
        let value = self.value();
        self.path = outer;
        value
    }

    fn expect(&mut self, c: char) -> bool {
        self.skip_space();
        let found = self.take_if(c);
        if !found {
            self.fail_here(&format!("`{c}`"));
        }
        found
    }

    fn skip_attributes(&mut self) {
        self.skip_space();
        while self.peek() == Some('#') {
            self.take_while(|c| c != ']');
            self.advance();
            self.skip_space();
        }
    }

    fn skip_space(&mut self) {
        loop {
            self.take_while(|c| c.is_whitespace() || matches!(c, '\u{200E}' | '\u{200F}'));
            match (self.peek(), self.chars.get(self.next + 1)) {
                (Some('/'), Some('/')) => drop(self.take_while(|c| c != '\n')),
                (Some('/'), Some('*')) => self.skip_block_comment(),
                _ => return,
            }
        }
    }

    fn skip_block_comment(&mut self) {
        let opened = self.at.line;
        let mut level = 0;
        loop {
            let pair = (self.take(), self.peek());
            match pair {
                (Some('/'), Some('*')) => level += 1,
                (Some('*'), Some('/')) => level -= 1,
                (None, _) => {
                    self.fail_unclosed("*/", opened);
                    return;
                }
                _ => continue,
            }
            self.advance();
            if level == 0 {
                return;
            }
        }
    }

    fn peek(&self) -> Option<char> {
        if self.fault.is_some() { None } else { self.chars.get(self.next).copied() }
    }

    fn take(&mut self) -> Option<char> {
        let c = self.peek()?;
        self.next += 1;
        self.at = match c {
            '\n' => Position { line: self.at.line + 1, column: 1, ..self.at },
            _ => Position { column: self.at.column + 1, ..self.at },
        };
        Some(c)
    }

    fn advance(&mut self) {
        self.take();
    }

    fn take_if(&mut self, c: char) -> bool {
        let ahead = self.peek() == Some(c);
        if ahead {
            self.advance();
        }
        ahead
    }

    fn take_while(&mut self, allowed: impl Fn(char) -> bool) -> String {
        let mut taken = String::new();
        while let Some(c) = self.peek().filter(|c| allowed(*c)) {
            taken.push(c);
            self.advance();
        }
        taken
    }

    /// The next word or character, for a message.
    fn ahead(&self) -> String {
        let rest = &self.chars[self.next..];
        let word: String = rest.iter().take_while(|c| is_word_part(**c)).take(40).collect();
        match rest.first() {
            None => "the end of the text".into(),
            Some(c) if word.is_empty() => format!("`{c}`"),
            Some(_) => format!("`{word}`"),
        }
    }

    fn fail(&mut self, found: &str, allowed: &str, hint: String) -> Kind {
        let path = self.path.clone();
        self.fault.get_or_insert(Fault { at: self.at, path, found: found.into(), allowed: allowed.into(), hint });
        Kind::Unread
    }

    fn fail_here(&mut self, allowed: &str) -> Kind {
        let found = self.ahead();
        self.fail(&found, allowed, String::new())
    }

    fn fail_unclosed(&mut self, close: &str, opened: usize) -> Kind {
        self.fail("cut off by the end of the text", &format!("`{close}`"), format!("opened in line {opened}"))
    }
}

fn is_number_start(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '+' | '-' | '.')
}

fn is_number_part(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.' | '_')
}

fn is_word_start(c: char) -> bool {
    c.is_alphabetic() || c == '_'
}

fn is_word_part(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}
