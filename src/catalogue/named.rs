//! The built-in ingredients that the plan treats in a way of their own, by name.

use super::{Catalogue, Handle, Ingredient};

impl Catalogue {
    /// Coir, which is soaked.
    #[must_use]
    pub fn coir(&self) -> Option<Handle<Ingredient>> {
        self.ingredients.find("coir")
    }

    /// Lime as a dose, which acts in a moist mix.
    #[must_use]
    pub fn is_lime(&self, id: &Handle<Ingredient>) -> bool {
        self.ingredients.find("lime").as_ref() == Some(id)
    }

    /// Peat, limed by its maker or not, which is wetted ahead.
    #[must_use]
    pub fn is_peat(&self, id: &Handle<Ingredient>) -> bool {
        ["peat", "limed peat"].into_iter().any(|name| self.ingredients.find(name).as_ref() == Some(id))
    }
}
