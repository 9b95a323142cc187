//! What crop a name means: its own or another name, a plural, a botanical name, the last words
//! of a named sort. A name that may mean another plant is never guessed.

use super::family::{Status, status_of};
use super::name::other_forms;
use super::shipped::Shipped;
use super::{Catalogue, Crop, Handle, Trap, key, trap, traps};
use crate::diagnostic::{Code, Problem, Span};
use crate::spelling::slips;
use std::collections::{BTreeSet, HashMap};
use std::sync::LazyLock;

/// How a name was found to mean a crop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// It is one of its names, a plural of one, or its botanical name.
    Name,
    /// Its last words are, and all plants whose names end so are alike.
    LastWords,
}

/// Why a name means no crop for certain.
#[derive(Clone, Debug, PartialEq)]
pub enum Doubt {
    /// It is one of the names that are often confused.
    Trap(&'static Trap),
    /// It is the botanical name of several crops.
    Several(Vec<&'static str>),
    /// It is not known.
    Unknown,
}

/// What the shipped tables say of names beyond the names themselves.
struct Names {
    /// Epithet and name of the crops and traps of each genus, in lower case; a crop's old
    /// botanical names are marked, since they say nothing of the genus.
    latin: HashMap<String, Vec<Binomial>>,
    /// Way of life and family of the plants whose names end so.
    endings: HashMap<String, BTreeSet<(Status, String)>>,
}

struct Binomial {
    epithet: String,
    former: bool,
    /// All that is said of the species, to tell crops of one species apart.
    species: String,
    name: &'static str,
}

static NAMES: LazyLock<Names> = LazyLock::new(|| {
    let mut names = Names { latin: HashMap::new(), endings: HashMap::new() };
    for crop in Crop::table().iter() {
        let species = crop.species.as_deref().unwrap_or_default();
        names.add_binomials(species, species, false, &crop.name);
        crop.formerly.iter().for_each(|former| names.add_binomials(former, species, true, &crop.name));
        let alike = (crop.mycorrhiza, crop.family.clone().unwrap_or_default());
        for name in std::iter::once(&crop.name).chain(&crop.also) {
            names.add_endings(name, &alike);
        }
    }
    let mut plants = BTreeSet::new();
    for (name, trap) in traps().filter(|(_, trap)| trap.is.is_none()) {
        let (species, family) = (trap.species.as_deref(), trap.family.as_deref());
        // Of two names of one plant the first stands for it.
        if let Some(species) = species.filter(|species| plants.insert(*species)) {
            names.add_binomials(species, species, false, name);
        }
        if let Some((status, _)) = status_of(species, family).filter(|_| !trap.apart) {
            names.add_endings(name, &(status, family.unwrap_or_default().to_owned()));
        }
    }
    names
});

impl Names {
    /// Takes in what `Viola x wittrockiana / V. cornuta` or `Salvia rosmarinus (Rosmarinus
    /// officinalis)` name.
    fn add_binomials(&mut self, text: &str, species: &str, former: bool, name: &'static str) {
        let mut genus = String::new();
        for one in text.split(['/', '(', ')', ',']) {
            let words = latin_words(one);
            let [first, rest @ ..] = &words[..] else { continue };
            // An initial stands for the genus before it, and `Italica Group` is no species.
            if !(first.len() == 2 && first.ends_with('.')) {
                genus.clone_from(first);
            }
            if rest.first().is_some_and(|word| word.starts_with("group")) {
                continue;
            }
            let epithet = rest.first().cloned().unwrap_or_default();
            let species = species.to_lowercase();
            self.latin.entry(genus.clone()).or_default().push(Binomial { epithet, former, species, name });
        }
    }

    fn add_endings(&mut self, name: &str, alike: &(Status, String)) {
        for ending in endings(&key(name)) {
            self.endings.entry(ending.to_owned()).or_default().insert(alike.clone());
        }
    }

    /// The crops and traps that a botanical name means.
    fn of_latin(&self, name: &str) -> Vec<&'static str> {
        let words = latin_words(name);
        let [genus, rest @ ..] = &words[..] else { return Vec::new() };
        let known = self.latin.get(genus).map(Vec::as_slice).unwrap_or_default().iter();
        let found: Vec<&Binomial> = match rest {
            [] => known.filter(|one| !one.former).collect(),
            [epithet, ..] => {
                // A crop that stands for its genus (`Dianthus spp.`) is meant by the species of it, too.
                let (of_genus, own): (Vec<_>, Vec<_>) = known
                    .filter(|one| one.epithet == *epithet || one.epithet.is_empty())
                    .partition(|one| one.epithet.is_empty());
                if own.is_empty() { of_genus } else { own }
            }
        };
        // A variety or group may tell the crops of one species apart.
        let says =
            |one: &Binomial, word: &String| one.species.split(|c: char| !c.is_alphabetic()).any(|own| own == word);
        let narrower = found.iter().filter(|one| rest.iter().skip(1).any(|word| says(one, word)));
        let narrower: BTreeSet<&str> = narrower.map(|one| one.name).collect();
        match narrower.len() {
            1 => narrower.into_iter().collect(),
            _ => found.iter().map(|one| one.name).collect::<BTreeSet<_>>().into_iter().collect(),
        }
    }
}

/// The words of a botanical name that tell plants apart, in lower case.
fn latin_words(text: &str) -> Vec<String> {
    const BETWEEN: [&str; 11] = ["x", "×", "spp.", "spp", "sp.", "sp", "subsp.", "ssp.", "var.", "cv.", "f."];
    let words = text.split_whitespace().map(str::to_lowercase);
    words.filter(|word| !BETWEEN.contains(&word.as_str())).collect()
}

impl Handle<Crop> {
    /// The crop as the user calls it, unless that is its name or the plural of it.
    #[must_use]
    pub fn called(&self, word: &str) -> Self {
        let (plain, own) = (key(word), key(&self.name));
        if plain == own || other_forms(&plain).any(|form| form == own) {
            return self.clone();
        }
        self.retold(&plain, self.known_as(word))
    }

    /// The same crop by the name of one of its sowings: `kale 'red'`.
    #[must_use]
    pub fn of_sowing(&self, name: &str) -> Self {
        self.retold(name, self.known_as(name))
    }
}

/// A name, and what stands after each of its spaces: the longest first.
fn endings(key: &str) -> impl Iterator<Item = &str> {
    std::iter::once(key).chain(key.match_indices(' ').map(|(at, _)| &key[at + 1..]))
}

impl Catalogue {
    /// The crop that a name means, and how that was found.
    ///
    /// # Errors
    /// [`Doubt`] where it may mean another plant, or none that is known.
    ///
    /// ```
    /// use trayful::catalogue::{By, Catalogue};
    /// let catalogue = Catalogue::built_in();
    /// let crop = |name| catalogue.meant(name).map(|(crop, by)| (crop.name.clone(), by));
    /// assert_eq!(crop("Allium porrum"), Ok(("leek".to_owned(), By::Name)));
    /// assert_eq!(crop("Red Russian kale"), Ok(("kale".to_owned(), By::LastWords)));
    /// // Cresses are plants of several families, with and without mycorrhiza.
    /// assert!(crop("Brazilian cress").is_err());
    /// ```
    pub fn meant(&self, name: &str) -> Result<(Handle<Crop>, By), Doubt> {
        let key = key(name);
        if let Some(found) = std::iter::once(key.clone()).chain(other_forms(&key)).find_map(|form| self.called(&form)) {
            return found.map(|crop| (crop, By::Name));
        }
        match NAMES.of_latin(name)[..] {
            [] => {}
            [one] => return self.called(one).unwrap_or(Err(Doubt::Unknown)).map(|crop| (crop, By::Name)),
            ref several => return Err(Doubt::Several(several.to_vec())),
        }
        let by_ending = endings(&key).skip(1).find_map(|ending| {
            let mut forms = std::iter::once(ending.to_owned()).chain(other_forms(ending));
            forms.find_map(|form| match self.called(&form)? {
                Ok(_) if NAMES.endings.get(&form).is_none_or(|plants| plants.len() > 1) => None,
                Ok(_) => self.crops.find(&form).map(Ok),
                doubt => Some(doubt),
            })
        });
        by_ending.unwrap_or(Err(Doubt::Unknown)).map(|crop| (crop, By::LastWords))
    }

    /// What goes by just this name.
    fn called(&self, name: &str) -> Option<Result<Handle<Crop>, Doubt>> {
        if let Some(crop) = self.crops.find(name) {
            return Some(Ok(crop));
        }
        let trap = trap(name)?;
        let crop = trap.is.as_ref().and_then(|is| self.crops.find(is));
        Some(crop.ok_or(Doubt::Trap(trap)))
    }

    /// The fault of a name that means no crop for certain.
    pub fn doubtful(&self, name: &str, doubt: &Doubt, at: Span) -> Problem {
        let own = |facts: &str| format!("add it to your file: `crops: {{{name}: {{{facts}}}}}`");
        let ambiguous =
            |what: String, help: String| Problem::new(Code::AmbiguousCrop, at, what, "one crop").with_help(Some(help));
        match doubt {
            Doubt::Trap(Trap { grown_from: Some(from), remark, .. }) => {
                let what = format!("`{name}` is grown from {from}, not from seed in trays");
                ambiguous(what, format!("{remark}; if you do sow it, {}", own("")))
            }
            Doubt::Trap(Trap { could_be, remark, .. }) if !could_be.is_empty() => {
                let names: Vec<String> = could_be.iter().map(|crop| format!("`{crop}`")).collect();
                let help = format!("{remark}; write {}, or {}", names.join(" or "), own("family: ..."));
                ambiguous(format!("`{name}` can mean more than one plant"), help)
            }
            Doubt::Trap(Trap { species, remark, .. }) => {
                let what = format!("`{name}` is a plant that the table does not have");
                let facts =
                    species.as_ref().map_or_else(|| "family: ...".to_owned(), |name| format!("species: {name}"));
                ambiguous(what, format!("{remark}; {}", own(&facts)))
            }
            Doubt::Several(crops) => {
                let names: Vec<String> = crops.iter().map(|crop| format!("`{crop}`")).collect();
                ambiguous(format!("`{name}` is the name of several crops"), format!("write {}", names.join(" or ")))
            }
            Doubt::Unknown => {
                let help = match self.near(name) {
                    Some(near) => {
                        format!("{near}{} or {}", if near.ends_with('?') { "" } else { "," }, own("family: ..."))
                    }
                    None => format!("see `trayful list crops`, or {}", own("family: ...")),
                };
                let what = format!("no crop is called `{name}`");
                Problem::new(Code::UnknownCrop, at, what, "a crop of the table or of `crops:`").with_help(Some(help))
            }
        }
    }

    /// Advice on a name that is no crop: the nearest one where all that are near are alike, else the
    /// families that it may be of.
    pub fn near(&self, name: &str) -> Option<String> {
        let key = key(name);
        let of_ending = endings(&key).skip(1).find_map(|ending| Some((ending, NAMES.endings.get(ending)?)));
        if let Some((ending, plants)) = of_ending.filter(|(_, plants)| plants.len() > 1) {
            let families: BTreeSet<&str> = plants.iter().map(|(_, family)| family.as_str()).collect();
            let families = families.into_iter().collect::<Vec<_>>().join(", ");
            return Some(format!(
                "plants called `{ending}` are of several families ({families}): write which one it is"
            ));
        }
        let names = self.crops.names().chain(traps().map(|(name, _)| name));
        let near = slips(&key, names);
        let alike = |name: &str| match self.called(name)? {
            Ok(crop) => Some((crop.mycorrhiza, crop.family.clone().unwrap_or_default())),
            Err(Doubt::Trap(trap)) => {
                let (status, _) = status_of(trap.species.as_deref(), trap.family.as_deref())?;
                Some((status, trap.family.clone().unwrap_or_default()))
            }
            Err(_) => None,
        };
        // The first letter is hardly ever the slip: `woolflower` is no `moonflower`.
        let begins = |c: char| key.starts_with(c.to_ascii_lowercase());
        let mut statuses: Vec<Option<Status>> = near.iter().map(|name| alike(name).map(|(status, _)| status)).collect();
        statuses.dedup();
        match statuses[..] {
            [] => None,
            [Some(_)] if near[0].starts_with(begins) => Some(format!("did you mean `{}`?", near[0])),
            _ => {
                let of_family = |name: &&str| Some(format!("`{name}` ({})", alike(name)?.1));
                let near: Vec<String> = near.iter().filter_map(of_family).collect();
                Some(format!("near are {}: write the one you mean", near.join(", ")))
            }
        }
    }
}
