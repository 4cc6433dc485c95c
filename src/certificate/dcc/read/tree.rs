//! The file as a tree, from hostile bytes: bounded in size, depth and number of everything, without
//! document type and without entities.

use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;

use super::fault::{Place, ReadError, ReadFault};
use crate::{DCC, DS, SI};

/// Bytes of a file; a certificate may hold its own PDF.
pub const MAX_BYTES: usize = 64 << 20;
/// Elements within each other.
pub const MAX_DEPTH: usize = 64;
/// Elements in all.
pub const MAX_ELEMENTS: usize = 200_000;
/// Attributes of an element, declarations of namespaces included.
pub const MAX_ATTRIBUTES: usize = 32;
/// Letters of a name.
const MAX_NAME: usize = 128;

/// The namespaces that matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Space {
    Dcc,
    Si,
    Ds,
    Other,
}

#[derive(Debug, Clone)]
struct Node {
    space: Space,
    local: String,
    attributes: Vec<(String, String)>,
    text: String,
    children: Vec<usize>,
    parent: Option<usize>,
    line: usize,
}

/// All elements; the first one is the root.
#[derive(Debug, Clone)]
pub(crate) struct Tree {
    nodes: Vec<Node>,
}

/// An element of the tree.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At<'t> {
    tree: &'t Tree,
    index: usize,
}

/// An element by its number, for later.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spot(usize);

/// Where a fault lies that no element holds.
pub(super) fn file(line: usize, fault: ReadFault) -> ReadError {
    ReadError { place: Place { path: "/".to_owned(), line }, fault }
}

impl Tree {
    pub(super) fn parse(bytes: &[u8]) -> Result<Tree, ReadError> {
        if bytes.len() > MAX_BYTES {
            return Err(file(1, limit("bytes", bytes.len(), MAX_BYTES)));
        }
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let at = e.valid_up_to();
            let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
            file(line, ReadFault::NotUtf8 { at })
        })?;
        Builder::new(text.strip_prefix('\u{feff}').unwrap_or(text)).build()
    }

    pub(crate) fn root(&self) -> At<'_> {
        At { tree: self, index: 0 }
    }

    pub(crate) fn at(&self, spot: Spot) -> At<'_> {
        At { tree: self, index: spot.0 }
    }
}

fn limit(what: &'static str, given: usize, limit: usize) -> ReadFault {
    ReadFault::Limit { what, given, limit }
}

struct Builder<'x> {
    text: &'x str,
    tree: Tree,
    open: Vec<usize>,
    /// prefixes with their namespace, and at which depth they were declared
    scopes: Vec<(usize, String, Space)>,
    line: usize,
    counted: usize,
}

impl<'x> Builder<'x> {
    fn new(text: &'x str) -> Builder<'x> {
        let tree = Tree { nodes: Vec::new() };
        Builder { text, tree, open: Vec::new(), scopes: Vec::new(), line: 1, counted: 0 }
    }

    fn build(mut self) -> Result<Tree, ReadError> {
        let mut reader = Reader::from_str(self.text);
        reader.config_mut().expand_empty_elements = true;
        loop {
            self.count_lines(reader.buffer_position());
            let event = reader.read_event().map_err(|e| self.xml(&e))?;
            match event {
                Event::Start(start) => self.start(&start)?,
                Event::End(_) => {
                    self.open.pop();
                    let depth = self.open.len();
                    while self.scopes.last().is_some_and(|(declared, ..)| *declared > depth) {
                        self.scopes.pop();
                    }
                }
                Event::Text(text) => self.characters(&text.xml10_content())?,
                Event::CData(text) => self.characters(&text.xml10_content())?,
                Event::GeneralRef(name) => {
                    let resolved = name.resolve_char_ref().map_err(|e| self.xml(&e))?;
                    let known = match &*name.xml10_content() {
                        "amp" => Some('&'),
                        "lt" => Some('<'),
                        "gt" => Some('>'),
                        "quot" => Some('"'),
                        "apos" => Some('\''),
                        _ => None,
                    };
                    let entity = || ReadFault::Entity { given: cut(&name.xml10_content()) };
                    let c = resolved.or(known).ok_or_else(|| self.fault(entity()))?;
                    self.characters(c.encode_utf8(&mut [0; 4]))?;
                }
                Event::DocType(_) => return Err(self.fault(ReadFault::Dtd)),
                Event::Decl(declaration) => self.encoding(declaration.encoding())?,
                Event::Comment(_) | Event::PI(_) => {}
                Event::Empty(_) => {}
                Event::Eof => break,
            }
        }
        match (self.open.is_empty(), self.tree.nodes.is_empty()) {
            (true, false) => Ok(self.tree),
            (true, true) => Err(self.fault(ReadFault::Xml { message: "there is no element".to_owned() })),
            (false, _) => {
                Err(self.fault(ReadFault::Xml { message: "the file ends in an element".to_owned() }))
            }
        }
    }

    fn count_lines(&mut self, to: u64) {
        let to = usize::try_from(to).unwrap_or(self.text.len()).min(self.text.len());
        let passed = self.text.as_bytes().get(self.counted..to).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count();
        self.counted = to;
    }

    /// A fault of the element that is open.
    fn fault(&self, fault: ReadFault) -> ReadError {
        let path =
            self.open.last().map_or("/".to_owned(), |index| At { tree: &self.tree, index: *index }.path());
        ReadError { place: Place { path, line: self.line }, fault }
    }

    fn xml(&self, message: &impl ToString) -> ReadError {
        self.fault(ReadFault::Xml { message: cut(&message.to_string()) })
    }

    fn encoding(
        &self,
        declared: Option<Result<std::borrow::Cow<'_, str>, quick_xml::events::attributes::AttrError>>,
    ) -> Result<(), ReadError> {
        match declared {
            None => Ok(()),
            Some(Ok(name)) if name.eq_ignore_ascii_case("utf-8") => Ok(()),
            Some(Ok(name)) => Err(self.fault(ReadFault::Encoding { given: cut(&name) })),
            Some(Err(error)) => Err(self.xml(&error)),
        }
    }

    fn characters(&mut self, text: &str) -> Result<(), ReadError> {
        match self.open.last() {
            Some(open) => {
                self.tree.nodes[*open].text.push_str(text);
                Ok(())
            }
            None if text.trim().is_empty() => Ok(()),
            None => Err(self.fault(ReadFault::Xml { message: "text outside the root".to_owned() })),
        }
    }

    fn start(&mut self, start: &BytesStart<'_>) -> Result<(), ReadError> {
        if self.open.len() >= MAX_DEPTH {
            return Err(self.fault(limit("elements within each other", self.open.len() + 1, MAX_DEPTH)));
        }
        if self.tree.nodes.len() >= MAX_ELEMENTS {
            return Err(self.fault(limit("elements", self.tree.nodes.len() + 1, MAX_ELEMENTS)));
        }
        if self.open.is_empty() && !self.tree.nodes.is_empty() {
            return Err(self.fault(ReadFault::Xml { message: "a second root".to_owned() }));
        }
        let depth = self.open.len() + 1;
        let attributes = self.attributes(start, depth)?;
        let name = start.name();
        let (prefix, local) = name.as_ref().split_once(':').unwrap_or(("", name.as_ref()));
        if local.len() > MAX_NAME {
            return Err(self.fault(limit("letters in a name", local.len(), MAX_NAME)));
        }
        let declared = self.scopes.iter().rev().find(|(_, known, _)| known == prefix);
        let space = match declared {
            Some((_, _, space)) => *space,
            None if prefix.is_empty() => Space::Other,
            None => {
                let message = format!("the prefix '{}' is not declared", cut(prefix));
                return Err(self.fault(ReadFault::Xml { message }));
            }
        };
        let index = self.tree.nodes.len();
        let parent = self.open.last().copied();
        if let Some(parent) = parent {
            self.tree.nodes[parent].children.push(index);
        }
        let (local, line) = (local.to_owned(), self.line);
        let node = Node { space, local, attributes, text: String::new(), children: Vec::new(), parent, line };
        self.tree.nodes.push(node);
        self.open.push(index);
        Ok(())
    }

    /// The attributes without a prefix; declarations of namespaces go to the scopes.
    fn attributes(
        &mut self,
        start: &BytesStart<'_>,
        depth: usize,
    ) -> Result<Vec<(String, String)>, ReadError> {
        let mut attributes: Vec<(String, String)> = Vec::new();
        for (count, attribute) in start.attributes().with_checks(false).enumerate() {
            if count >= MAX_ATTRIBUTES {
                return Err(self.fault(limit("attributes", count + 1, MAX_ATTRIBUTES)));
            }
            let attribute = attribute.map_err(|e| self.xml(&e))?;
            let key = attribute.key.as_ref();
            let value = attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|e| self.xml(&e))?;
            let prefix = if key == "xmlns" { Some("") } else { key.strip_prefix("xmlns:") };
            if let Some(prefix) = prefix {
                let space = match &*value {
                    DCC => Space::Dcc,
                    SI => Space::Si,
                    DS => Space::Ds,
                    _ => Space::Other,
                };
                self.scopes.push((depth, prefix.to_owned(), space));
            } else if !key.contains(':') {
                if attributes.iter().any(|(known, _)| known == key) {
                    let message = format!("the attribute '{}' stands there twice", cut(key));
                    return Err(self.fault(ReadFault::Xml { message }));
                }
                attributes.push((key.to_owned(), value.into_owned()));
            }
        }
        Ok(attributes)
    }
}

/// At most 64 characters, for a message.
pub(super) fn cut(text: &str) -> String {
    text.chars().take(64).collect()
}

impl<'t> At<'t> {
    fn node(self) -> &'t Node {
        &self.tree.nodes[self.index]
    }

    pub(crate) fn spot(self) -> Spot {
        Spot(self.index)
    }

    pub(super) fn is(self, space: Space, local: &str) -> bool {
        self.node().space == space && self.node().local == local
    }

    pub(super) fn attribute(self, name: &str) -> Option<&'t str> {
        self.node().attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    pub(super) fn text(self) -> &'t str {
        self.node().text.trim_matches([' ', '\t', '\r', '\n'])
    }

    pub(super) fn children(self) -> impl Iterator<Item = At<'t>> {
        self.node().children.iter().map(move |index| At { tree: self.tree, index: *index })
    }

    pub(super) fn all(self, space: Space, local: &'static str) -> impl Iterator<Item = At<'t>> {
        self.children().filter(move |child| child.is(space, local))
    }

    pub(super) fn child(self, space: Space, local: &'static str) -> Option<At<'t>> {
        self.all(space, local).next()
    }

    pub(super) fn dcc(self, local: &'static str) -> Option<At<'t>> {
        self.child(Space::Dcc, local)
    }

    pub(super) fn si(self, local: &'static str) -> Option<At<'t>> {
        self.child(Space::Si, local)
    }

    /// A child that must be there.
    pub(super) fn need(self, space: Space, local: &'static str) -> Result<At<'t>, ReadError> {
        self.child(space, local).ok_or_else(|| self.fault(ReadFault::Missing { wanted: local }))
    }

    pub(super) fn fault(self, fault: ReadFault) -> ReadError {
        ReadError { place: self.place(), fault }
    }

    pub(crate) fn place(self) -> Place {
        Place { path: self.path(), line: self.node().line }
    }

    /// The name with the usual prefix of its namespace, whatever the file calls it.
    pub(super) fn name(self) -> String {
        let prefix = match self.node().space {
            Space::Dcc => "dcc:",
            Space::Si => "si:",
            Space::Ds => "ds:",
            Space::Other => "",
        };
        format!("{prefix}{}", self.node().local)
    }

    fn path(self) -> String {
        let mut names = Vec::new();
        let mut at = Some(self);
        while let Some(here) = at {
            let parent = here.node().parent.map(|index| At { tree: self.tree, index });
            let same = |other: &At<'_>| other.is(here.node().space, &here.node().local);
            let count = parent.map_or(1, |parent| parent.children().filter(same).count());
            let before = parent.map_or(0, |parent| {
                parent.children().filter(same).take_while(|o| o.index < here.index).count()
            });
            let name = here.name();
            names.push(if count > 1 { format!("{name}[{}]", before + 1) } else { name });
            at = parent;
        }
        names.iter().rev().fold(String::new(), |path, name| path + "/" + name)
    }
}
