//! A document of headings, paragraphs, lists and tables, without any form yet.

/// A document.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// Its content, in order.
    pub blocks: Vec<Block>,
}

/// One piece of a document.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A heading within a heading.
    Subheading(String),
    /// A paragraph.
    Paragraph(String),
    /// A list.
    List(Vec<String>),
    /// A table.
    Table(Table),
}

/// A table with a header.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, as many cells each as columns.
    pub rows: Vec<Vec<String>>,
    /// The last row is a sum.
    pub sum: bool,
}

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its header.
    pub name: &'static str,
    /// Which side its cells lean to.
    pub align: Align,
}

/// Which side a cell leans to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

impl Document {
    /// An empty document of a title.
    #[must_use]
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), blocks: Vec::new() }
    }

    /// Adds a heading.
    pub fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a heading within a heading.
    pub fn subheading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Subheading(text.into()));
    }

    /// Adds a paragraph, unless it is empty.
    pub fn paragraph(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !text.is_empty() {
            self.blocks.push(Block::Paragraph(text));
        }
    }

    /// Adds a list, unless it is empty.
    pub fn list(&mut self, items: Vec<String>) {
        if !items.is_empty() {
            self.blocks.push(Block::List(items));
        }
    }

    /// Adds a table, unless it has no rows.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}

impl Table {
    /// A table of columns: a `>` before a name leans the column to the right.
    #[must_use]
    pub fn new(columns: &[&'static str]) -> Self {
        let column = |name: &&'static str| match name.strip_prefix('>') {
            Some(name) => Column { name, align: Align::Right },
            None => Column { name, align: Align::Left },
        };
        Self { columns: columns.iter().map(column).collect(), ..Self::default() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        let mut cells: Vec<String> = cells.into_iter().collect();
        cells.resize(self.columns.len(), String::new());
        self.rows.push(cells);
    }

    /// Leaves out the columns without a single value.
    #[must_use]
    pub fn without_empty_columns(mut self) -> Self {
        let kept: Vec<bool> =
            (0..self.columns.len()).map(|index| self.rows.iter().any(|row| !row[index].is_empty())).collect();
        let mut keep = kept.iter();
        self.columns.retain(|_| *keep.next().unwrap_or(&true));
        for row in &mut self.rows {
            let mut keep = kept.iter();
            row.retain(|_| *keep.next().unwrap_or(&true));
        }
        self
    }
}
