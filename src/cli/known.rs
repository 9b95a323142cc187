//! Names that a shell completes; any other may be written in their place.

use crate::catalogue::Catalogue;
use crate::recipe::BUILT_IN;
use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::error::Error;
use clap::{Arg, Command};
use serde::Deserialize;
use std::ffi::OsStr;

/// What is named.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Known {
    Crops,
    Trays,
    Ingredients,
    Recipes,
    /// Any of these.
    All,
}

impl Known {
    /// The names that ship.
    pub(super) fn names(self) -> Vec<String> {
        let catalogue = Catalogue::built_in();
        let names: Vec<&str> = match self {
            Self::Crops => catalogue.crops.names().collect(),
            Self::Trays => catalogue.trays.names().collect(),
            Self::Ingredients => catalogue.ingredients.names().collect(),
            Self::Recipes => BUILT_IN.iter().map(|(name, _)| *name).collect(),
            Self::All => {
                let all = [Self::Crops, Self::Trays, Self::Ingredients, Self::Recipes].into_iter();
                return all.flat_map(Self::names).collect();
            }
        };
        names.into_iter().map(str::to_owned).collect()
    }

    /// The same in one word each, with hyphens for spaces, as a name may be written.
    pub(super) fn words(self) -> Vec<String> {
        let is_plain = |word: &String| word.chars().all(|c| c.is_ascii_alphanumeric() || "-._".contains(c));
        self.names().into_iter().map(|name| name.replace(' ', "-")).filter(is_plain).collect()
    }
}

impl TypedValueParser for Known {
    type Value = String;

    fn parse_ref(&self, command: &Command, argument: Option<&Arg>, value: &OsStr) -> Result<String, Error> {
        StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(self.words().into_iter().map(PossibleValue::new)))
    }
}
