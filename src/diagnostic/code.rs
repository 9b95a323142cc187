//! Stable names for the kinds of fault, for scripts and for the tests.

/// The kind of a fault; [`Code::name`] is what is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Code {
    /// The file cannot be opened or read.
    Unreadable,
    /// More bytes than a file of its kind may have.
    TooLarge,
    /// Not UTF-8, or a character that has no place in such a file.
    Encoding,
    /// Not YAML, or not CSV.
    Syntax,
    /// A list where a map should stand, and the like.
    WrongKind,
    /// A key that nothing reads.
    UnknownKey,
    /// A key that stands twice.
    TwiceKey,
    /// A key that must be there.
    MissingKey,
    /// Keys that exclude each other.
    Conflict,
    /// A number, quantity or share that cannot be read or cannot be.
    Quantity,
    /// A word outside its short list.
    Choice,
    /// A date or time that does not exist.
    Date,
    /// No such crop.
    UnknownCrop,
    /// A name that several crops go by.
    AmbiguousCrop,
    /// No such tray or pot.
    UnknownTray,
    /// No such ingredient.
    UnknownIngredient,
    /// No such recipe.
    UnknownRecipe,
    /// A name that is taken.
    TwiceName,
    /// A mix that cannot be made up.
    Recipe,
    /// A sowing that cannot be worked out.
    Sowing,
    /// A tray whose figures contradict each other.
    Tray,
    /// No such salt.
    UnknownSalt,
    /// A course for coir that cannot be.
    Soak,
}

impl Code {
    /// Every code, for the test that they are unique.
    pub const ALL: [Self; 23] = [
        Self::Unreadable,
        Self::TooLarge,
        Self::Encoding,
        Self::Syntax,
        Self::WrongKind,
        Self::UnknownKey,
        Self::TwiceKey,
        Self::MissingKey,
        Self::Conflict,
        Self::Quantity,
        Self::Choice,
        Self::Date,
        Self::UnknownCrop,
        Self::AmbiguousCrop,
        Self::UnknownTray,
        Self::UnknownIngredient,
        Self::UnknownRecipe,
        Self::TwiceName,
        Self::Recipe,
        Self::Sowing,
        Self::Tray,
        Self::UnknownSalt,
        Self::Soak,
    ];

    /// The name printed in brackets.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unreadable => "unreadable",
            Self::TooLarge => "too-large",
            Self::Encoding => "encoding",
            Self::Syntax => "syntax",
            Self::WrongKind => "wrong-kind",
            Self::UnknownKey => "unknown-key",
            Self::TwiceKey => "key-twice",
            Self::MissingKey => "missing-key",
            Self::Conflict => "conflict",
            Self::Quantity => "quantity",
            Self::Choice => "choice",
            Self::Date => "date",
            Self::UnknownCrop => "unknown-crop",
            Self::AmbiguousCrop => "ambiguous-crop",
            Self::UnknownTray => "unknown-tray",
            Self::UnknownIngredient => "unknown-ingredient",
            Self::UnknownRecipe => "unknown-recipe",
            Self::TwiceName => "name-twice",
            Self::Recipe => "recipe",
            Self::Sowing => "sowing",
            Self::Tray => "tray",
            Self::UnknownSalt => "unknown-salt",
            Self::Soak => "soak",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Code;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unique() {
        let names: BTreeSet<_> = Code::ALL.iter().map(|code| code.name()).collect();
        assert_eq!(names.len(), Code::ALL.len());
    }
}
