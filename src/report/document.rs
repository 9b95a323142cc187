//! A document of headings, paragraphs, lists and tables, without any form yet.

use super::picture::Picture;
use crate::printable::isolated;

/// A document.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// Its content, in order.
    pub blocks: Vec<Block>,
    /// It is a page, the only form in which pictures are drawn.
    pub is_page: bool,
}

/// One piece of a document.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A heading within a heading.
    Subheading(String),
    /// A piece of work, with what stands below it up to the next: to be ticked off.
    Step(String),
    /// A paragraph.
    Paragraph(String),
    /// A list.
    List(Vec<String>),
    /// A list of what there is to do, to be ticked off.
    Tasks(Vec<String>),
    /// A table.
    Table(Table),
    /// A picture.
    Picture(Picture),
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
    /// Its cells are numbers and stand to the right.
    pub is_number: bool,
}

impl Document {
    /// An empty document of a title.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    /// The same with what would steer a terminal or turn the reading direction made visible, and names that are read
    /// from right to left set apart.
    #[must_use]
    pub fn printable(mut self) -> Self {
        let make = |text: &mut String| *text = isolated(std::mem::take(text));
        make(&mut self.title);
        for block in &mut self.blocks {
            match block {
                Block::Heading(text) | Block::Subheading(text) | Block::Step(text) | Block::Paragraph(text) => {
                    make(text);
                }
                Block::List(items) | Block::Tasks(items) => items.iter_mut().for_each(make),
                Block::Picture(picture) => picture.printable(),
                Block::Table(table) => table.rows.iter_mut().flatten().for_each(make),
            }
        }
        self
    }

    /// Adds a heading.
    pub fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a heading within a heading.
    pub fn subheading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Subheading(text.into()));
    }

    /// Adds a piece of work.
    pub fn step(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Step(text.into()));
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

    /// Adds a picture, if there is one; it is made for a page only.
    pub fn picture<P: Into<Option<Picture>>>(&mut self, picture: impl FnOnce() -> P) {
        if self.is_page {
            self.blocks.extend(picture().into().map(Block::Picture));
        }
    }

    /// Adds a list of what there is to do, unless it is empty.
    pub fn tasks(&mut self, items: Vec<String>) {
        if !items.is_empty() {
            self.blocks.push(Block::Tasks(items));
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
    /// A table of columns: a `>` before a name makes a column of numbers.
    pub fn new(columns: &[&'static str]) -> Self {
        let column =
            |name: &&'static str| Column { name: name.trim_start_matches('>'), is_number: name.starts_with('>') };
        Self { columns: columns.iter().map(column).collect(), ..Self::default() }
    }

    /// A table with its rows.
    pub fn of<const N: usize>(columns: [&'static str; N], rows: impl IntoIterator<Item = [String; N]>) -> Self {
        Self { rows: rows.into_iter().map(Vec::from).collect(), ..Self::new(&columns) }
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
        let is_empty = |index: &usize| self.rows.iter().all(|row| row[*index].is_empty());
        let empty: Vec<usize> = (0..self.columns.len()).rev().filter(is_empty).collect();
        for index in empty {
            self.columns.remove(index);
            self.rows.iter_mut().for_each(|row| drop(row.remove(index)));
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_without_a_value_are_left_out() {
        let kept = |rows: &[[&str; 3]]| {
            let rows = rows.iter().map(|row| row.map(str::to_owned));
            let table = Table::of(["name", ">litres", "note"], rows).without_empty_columns();
            assert!(table.rows.iter().all(|row| row.len() == table.columns.len()));
            table.columns.iter().map(|column| column.name).collect::<Vec<_>>()
        };
        assert_eq!(kept(&[["a", "1", "x"]]), ["name", "litres", "note"]);
        assert_eq!(kept(&[["a", "", ""], ["", "1", ""]]), ["name", "litres"]);
        assert_eq!(kept(&[["", "", "x"]]), ["note"]);
        assert_eq!(kept(&[["", "", ""]]), [""; 0]);
        assert_eq!(kept(&[]), [""; 0]);
    }
}
