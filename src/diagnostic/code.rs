//! Stable names for the kinds of fault, for scripts and for the tests.

/// The kinds of fault, each with the name that is printed.
macro_rules! codes {
    ($($(#[$doc:meta])+ $code:ident = $name:literal,)+) => {
        /// The kind of a fault; [`Code::name`] is what is printed.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Code { $($(#[$doc])+ $code),+ }

        impl Code {
            /// Every code, for the test that they are unique.
            pub const ALL: &'static [Self] = &[$(Self::$code),+];

            /// The name printed in brackets.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$code => $name),+ }
            }
        }
    };
}

codes! {
    /// The file cannot be opened or read.
    Unreadable = "unreadable",
    /// More than a file, a row or a name may hold.
    TooLarge = "too-large",
    /// More entries than a list may have.
    TooMany = "too-many",
    /// Not UTF-8, or a character that has no place in such a file.
    Encoding = "encoding",
    /// Not YAML, or not CSV.
    Syntax = "syntax",
    /// A list where a map should stand, and the like.
    WrongKind = "wrong-kind",
    /// A key that nothing reads.
    UnknownKey = "unknown-key",
    /// A key that stands twice.
    TwiceKey = "key-twice",
    /// A key that must be there.
    MissingKey = "missing-key",
    /// Keys that exclude each other.
    Conflict = "conflict",
    /// A number, quantity or share that cannot be read or cannot be.
    Quantity = "quantity",
    /// A word outside its short list.
    Choice = "choice",
    /// A date or time that does not exist.
    Date = "date",
    /// No such crop.
    UnknownCrop = "unknown-crop",
    /// A name that several crops go by.
    AmbiguousCrop = "ambiguous-crop",
    /// No such tray or pot.
    UnknownTray = "unknown-tray",
    /// No such ingredient.
    UnknownIngredient = "unknown-ingredient",
    /// No such recipe.
    UnknownRecipe = "unknown-recipe",
    /// A name that is taken.
    TwiceName = "name-twice",
    /// A mix that cannot be made up.
    Recipe = "recipe",
    /// A sowing that cannot be worked out.
    Sowing = "sowing",
    /// A tray whose figures contradict each other.
    Tray = "tray",
    /// No such salt.
    UnknownSalt = "unknown-salt",
    /// A course for coir that cannot be.
    Soak = "soak",
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
