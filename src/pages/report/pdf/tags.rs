//! What is on the pages, in reading order, for who has them read aloud.
//!
//! While blocks are laid out, each mark comes to belong to the element that is open then, or to none: rules, bars,
//! feet and a table's head that comes again only decorate. `write` puts the tree into the file.

use pdf_writer::types::{ListNumbering, StructRole, TableHeaderScope};
use pdf_writer::writers::{StructElement, StructTreeRoot};
use pdf_writer::{Finish, Name, Pdf, Rect, Ref, TextStr};

use super::super::figure::Picture;
use super::write::real;

/// What an element is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Role {
    /// The whole.
    Document,
    /// A part for a reader of its own.
    Part,
    /// A heading; 1 is the title.
    Heading(u8),
    /// A paragraph, a notice, a line to type or to sign.
    Para,
    /// A list.
    List(ListNumbering),
    /// An item of a list.
    Item,
    /// What stands before an item: its number, its bullet, its name.
    Label,
    /// What an item says.
    Body,
    /// A table.
    Table,
    /// A row of it.
    Row,
    /// The name of a column.
    Head,
    /// A cell.
    Cell,
    /// A picture: what is said of it to who cannot see it, its left and upper edge, its width and height.
    Figure(String, [f64; 4]),
}

impl Role {
    /// Whether it holds marks, and no elements.
    fn holds_marks(&self) -> bool {
        !matches!(
            self,
            Self::Document | Self::Part | Self::List(_) | Self::Item | Self::Table | Self::Row
        )
    }

    pub(super) fn standard(&self) -> StructRole {
        match self {
            Self::Document => StructRole::Document,
            Self::Part => StructRole::Sect,
            Self::Heading(1) => StructRole::H1,
            Self::Heading(2) => StructRole::H2,
            Self::Heading(_) => StructRole::H3,
            Self::Para => StructRole::P,
            Self::List(_) => StructRole::L,
            Self::Item => StructRole::LI,
            Self::Label => StructRole::Lbl,
            Self::Body => StructRole::LBody,
            Self::Table => StructRole::Table,
            Self::Row => StructRole::TR,
            Self::Head => StructRole::TH,
            Self::Cell => StructRole::TD,
            Self::Figure(..) => StructRole::Figure,
        }
    }
}

/// An element of the tree.
#[derive(Debug)]
pub(super) struct Element {
    pub(super) role: Role,
    parent: Option<usize>,
    /// Elements in it.
    children: Vec<usize>,
    /// Marks of it: on which page, and which marked content of that page.
    marks: Vec<(usize, i32)>,
    /// The page on which it begins.
    page: usize,
}

/// Marks one after the other on a page that belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Run {
    /// The first of them; they go on to the next run.
    pub(super) from: usize,
    /// What they are of; none only decorates.
    pub(super) element: Option<usize>,
}

/// The tree, and which marks are whose.
#[derive(Debug)]
pub(super) struct Tags {
    pub(super) elements: Vec<Element>,
    /// The elements that are open, the innermost last.
    open: Vec<usize>,
    /// What is put down now only decorates.
    bare: bool,
    /// For each page.
    runs: Vec<Vec<Run>>,
}

impl Tags {
    /// A document without anything in it.
    pub(super) fn new() -> Self {
        let mut tags =
            Self { elements: Vec::new(), open: Vec::new(), bare: false, runs: Vec::new() };
        tags.begin(Role::Document, 0);
        tags
    }

    /// Begins a page.
    pub(super) fn turn(&mut self) {
        self.runs.push(Vec::new());
        self.note(0);
    }

    /// Begins an element when the last page has so many marks.
    pub(super) fn begin(&mut self, role: Role, marks: usize) {
        let parent = self.open.last().copied();
        let index = self.elements.len();
        if let Some(parent) = parent {
            self.elements[parent].children.push(index);
        }
        let page = self.runs.len().saturating_sub(1);
        let (children, held) = (Vec::new(), Vec::new());
        self.elements.push(Element { role, parent, children, marks: held, page });
        self.open.push(index);
        self.note(marks);
    }

    /// Ends the innermost element.
    pub(super) fn end(&mut self, marks: usize) {
        self.open.pop();
        self.note(marks);
    }

    /// What comes now only decorates, or does no longer; says what was so before.
    pub(super) fn bare(&mut self, bare: bool, marks: usize) -> bool {
        let before = std::mem::replace(&mut self.bare, bare);
        self.note(marks);
        before
    }

    /// The element whose marks come now.
    fn current(&self) -> Option<usize> {
        let last = *self.open.last()?;
        (!self.bare && self.elements[last].role.holds_marks()).then_some(last)
    }

    /// The element that was begun last.
    pub(super) fn last(&self) -> usize {
        self.elements.len().saturating_sub(1)
    }

    fn note(&mut self, marks: usize) {
        let run = Run { from: marks, element: self.current() };
        let Some(runs) = self.runs.last_mut() else { return };
        if runs.last().is_some_and(|last| last.from == marks) {
            runs.pop();
        }
        if runs.last().is_none_or(|last| last.element != run.element) {
            runs.push(run);
        }
    }

    /// What comes after these marks of each page is its foot.
    pub(super) fn foot(&mut self, pages: &[Picture]) {
        for (runs, page) in self.runs.iter_mut().zip(pages) {
            let from = page.marks.len();
            runs.retain(|run| run.from < from);
            runs.push(Run { from, element: None });
        }
    }

    /// The runs of a page.
    pub(super) fn of(&self, page: usize) -> &[Run] {
        self.runs.get(page).map_or(&[], Vec::as_slice)
    }

    /// A piece of an element on a page, under a number of that page.
    pub(super) fn piece(&mut self, element: usize, page: usize, number: i32) {
        let element = &mut self.elements[element];
        if element.marks.is_empty() {
            element.page = page;
        }
        element.marks.push((page, number));
    }

    /// Texts of the elements in reading order, with what each is, from the texts of the pages.
    #[cfg(test)]
    pub(super) fn read(&self, pages: &[Picture]) -> Vec<(Role, String)> {
        use super::super::figure::Mark;
        let mut out: Vec<(Role, Vec<String>)> =
            self.elements.iter().map(|element| (element.role.clone(), Vec::new())).collect();
        for (number, page) in pages.iter().enumerate() {
            for (index, mark) in page.marks.iter().enumerate() {
                let run = self.of(number).iter().rev().find(|run| run.from <= index);
                if let (Mark::Text { text, .. }, Some(element)) =
                    (mark, run.and_then(|r| r.element))
                {
                    out[element].1.push(text.clone());
                }
            }
        }
        out.into_iter().map(|(role, texts)| (role, texts.join(" "))).collect()
    }

    /// Writes the tree, its root as object `first` and all others after it; `pages` are objects and heights.
    pub(super) fn write(&self, pdf: &mut Pdf, first: Ref, pages: &[(Ref, f64)]) {
        let after = |index: usize| {
            Ref::new(first.get().saturating_add(1 + i32::try_from(index).unwrap_or(i32::MAX - 1)))
        };
        let id = |index: usize| after(pages.len() + index);
        let mut root = pdf.indirect(first).start::<StructTreeRoot<'_>>();
        root.child(id(0));
        root.parent_tree_next_key(i32::try_from(pages.len()).unwrap_or(i32::MAX));
        let mut tree = root.parent_tree();
        let mut keys = tree.nums();
        for (key, page) in (0..).zip(0..pages.len()) {
            keys.insert(key, after(page));
        }
        keys.finish();
        tree.finish();
        root.finish();
        let mut whose: Vec<Vec<(i32, usize)>> = vec![Vec::new(); pages.len()];
        for (index, element) in self.elements.iter().enumerate() {
            for &(page, number) in &element.marks {
                if let Some(whose) = whose.get_mut(page) {
                    whose.push((number, index));
                }
            }
        }
        for (page, mut whose) in whose.into_iter().enumerate() {
            whose.sort_unstable();
            pdf.indirect(after(page)).array().items(whose.into_iter().map(|(_, index)| id(index)));
        }
        for (index, element) in self.elements.iter().enumerate() {
            let mut object = pdf.struct_element(id(index));
            object.kind(element.role.standard());
            object.parent(element.parent.map_or(first, id));
            if let Some((page, high)) = pages.get(element.page) {
                object.page(*page);
                attributes(&mut object, &element.role, *high);
            }
            if element.children.is_empty() && element.marks.is_empty() {
                continue;
            }
            let mut children = object.children();
            for &child in &element.children {
                children.struct_element(id(child));
            }
            for &(page, number) in &element.marks {
                match pages.get(page) {
                    Some((other, _)) if page != element.page => {
                        children.marked_content_ref().page(*other).marked_content_id(number);
                    }
                    _ => {
                        children.marked_content_id(number);
                    }
                }
            }
        }
    }
}

fn attributes(object: &mut StructElement<'_>, role: &Role, high: f64) {
    match role {
        Role::Figure(alt, [x, y, w, h]) => {
            object.alt(TextStr(alt));
            let corners = Rect::new(real(*x), real(high - y - h), real(x + w), real(high - y));
            let mut list = object.attributes();
            list.push().layout().bbox(corners);
        }
        Role::List(numbering) => {
            object.attributes().push().list().list_numbering(*numbering);
        }
        Role::Head => {
            object.attributes().push().table().scope(TableHeaderScope::Column);
        }
        _ => {}
    }
}

/// Under which key the catalogue has the tree.
pub(super) const ROOT: Name<'static> = Name(b"StructTreeRoot");
