//! The built-in ingredients that the plan treats in a way of their own, by name.

use super::{Catalogue, IngredientId};

impl Catalogue {
    /// Coir, which is soaked.
    #[must_use]
    pub fn coir(&self) -> Option<IngredientId> {
        self.ingredients.find("coir").map(IngredientId)
    }

    /// Lime as a dose, which acts in a moist mix.
    #[must_use]
    pub fn is_lime(&self, id: IngredientId) -> bool {
        self.ingredients.find("lime") == Some(id.0)
    }

    /// Peat, limed by its maker or not, which is wetted ahead.
    #[must_use]
    pub fn is_peat(&self, id: IngredientId) -> bool {
        ["peat", "limed peat"].into_iter().any(|name| self.ingredients.find(name) == Some(id.0))
    }
}
