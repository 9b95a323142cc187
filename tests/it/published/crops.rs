//! Which crops form the mycorrhiza that an inoculant offers.
//!
//! Sources (read): Soudzilovskaia et al. 2020, New Phytologist 227:955-966 (genus
//! records); Hirrel, Mehravaran & Gerdemann 1978, Can. J. Bot. 56:2813; Vierheilig 2000,
//! New Phytologist 146:343; Cosme 2018, Trends Plant Sci. 23:577; Kellogg 2021, Microb.
//! Ecol.; Newman & Reddell 1987, New Phytologist 106:745.

use super::bench::{catalogue, planned};
use trayful::catalogue::Status::{Ericoid, Host, NonHost, Orchid, Variable};
use trayful::catalogue::{Status, StatusFrom, status_of};
use trayful::week::ReadingNote;

/// The 54 fallback rules by family.
const FAMILIES: [(&str, Status); 54] = [
    ("Brassicaceae", NonHost),
    ("Amaranthaceae", NonHost),
    ("Caryophyllaceae", NonHost),
    ("Polygonaceae", Variable),
    ("Plumbaginaceae", Variable),
    ("Portulacaceae", Variable),
    ("Nyctaginaceae", Variable),
    ("Aizoaceae", Variable),
    ("Papaveraceae", Variable),
    ("Commelinaceae", Variable),
    ("Urticaceae", Variable),
    ("Phytolaccaceae", Variable),
    ("Juncaceae", Variable),
    ("Cyperaceae", Variable),
    ("Resedaceae", NonHost),
    ("Capparaceae", Variable),
    ("Cleomaceae", Variable),
    ("Tropaeolaceae", Host),
    ("Caricaceae", Host),
    ("Moringaceae", Host),
    ("Ericaceae", Ericoid),
    ("Orchidaceae", Orchid),
    ("Proteaceae", NonHost),
    ("Fabaceae", Host),
    ("Boraginaceae", Variable),
    ("Plantaginaceae", Host),
    ("Montiaceae", Host),
    ("Campanulaceae", Host),
    ("Lecythidaceae", Host),
    ("Asteraceae", Host),
    ("Solanaceae", Host),
    ("Poaceae", Host),
    ("Cucurbitaceae", Host),
    ("Apiaceae", Host),
    ("Amaryllidaceae", Host),
    ("Asparagaceae", Host),
    ("Lamiaceae", Host),
    ("Malvaceae", Host),
    ("Convolvulaceae", Host),
    ("Violaceae", Host),
    ("Balsaminaceae", Host),
    ("Begoniaceae", Host),
    ("Geraniaceae", Host),
    ("Ranunculaceae", Host),
    ("Primulaceae", Host),
    ("Polemoniaceae", Host),
    ("Apocynaceae", Host),
    ("Verbenaceae", Host),
    ("Rosaceae", Host),
    ("Caprifoliaceae", Host),
    ("Linaceae", Host),
    ("Onagraceae", Host),
    ("Gentianaceae", Host),
    ("Scrophulariaceae", Host),
];

#[test]
fn every_family_rule() {
    for (family, status) in FAMILIES {
        let (found, from) = status_of(None, Some(family)).unwrap_or_else(|| panic!("{family}"));
        assert_eq!((found, from), (status, StatusFrom::Family(family.to_owned())));
        // A genus without a record of its own goes by its family.
        assert_eq!(status_of(Some("Nonesuchia alba"), Some(family)).unwrap().0, status, "{family}");
    }
    // Never by the order: Brassicales have hosts and non-hosts, and no rule.
    assert_eq!(status_of(None, Some("Brassicales")), None);
    assert_eq!(status_of(Some("Nonesuchia alba"), None), None);
}

/// Genera that differ from their family, and one species from its genus.
#[test]
fn every_exception_to_a_family() {
    for (species, family, status) in [
        ("Lupinus polyphyllus", "Fabaceae", NonHost),
        ("Rheum x hybridum", "Polygonaceae", NonHost),
        ("Silene coeli-rosa", "Caryophyllaceae", Variable),
        ("Stellaria media", "Caryophyllaceae", Variable),
        ("Montia fontana", "Montiaceae", Variable),
        ("Capparis spinosa", "Capparaceae", Variable),
        ("Amaranthus tricolor", "Amaranthaceae", Variable),
        ("Atriplex hortensis", "Amaranthaceae", Variable),
        ("Gomphrena globosa", "Amaranthaceae", Variable),
        ("Celosia argentea", "Amaranthaceae", Variable),
        ("Fagopyrum esculentum", "Polygonaceae", Variable),
        // Recorded both ways; the snapdragon a host by experiment.
        ("Veronica spicata", "Plantaginaceae", Variable),
        ("Linaria maroccana", "Plantaginaceae", Variable),
        ("Antirrhinum majus", "Plantaginaceae", Host),
        // The genus record of Lobelia is an error in the data.
        ("Lobelia erinus", "Campanulaceae", Host),
        ("Limonium latifolium", "Plumbaginaceae", Variable),
    ] {
        let genus = species.split(' ').next().unwrap().to_owned();
        assert_eq!(status_of(Some(species), Some(family)), Some((status, StatusFrom::Genus(genus))), "{species}");
    }
    // 30 to 65 % colonised by experiment.
    assert_eq!(
        status_of(Some("Limonium sinuatum"), Some("Plumbaginaceae")),
        Some((Host, StatusFrom::Species("Limonium sinuatum".to_owned())))
    );
}

/// What the papers say of single plants.
#[test]
fn plants_of_the_papers() {
    // Hirrel 1978: no arbuscules in spinach, quinoa, (black) mustard, radish.
    // Kellogg 2021: quinoa 0-3 %.
    for species in ["Spinacia oleracea", "Chenopodium quinoa", "Brassica nigra", "Raphanus sativus"] {
        assert_eq!(status_of(Some(species), None).unwrap().0, NonHost, "{species}");
    }
    // Vierheilig 2000: nasturtium and papaya colonised, the brassicas beside them not.
    assert_eq!(status_of(Some("Tropaeolum majus"), Some("Tropaeolaceae")).unwrap().0, Host);
    assert_eq!(status_of(Some("Carica papaya"), Some("Caricaceae")).unwrap().0, Host);
    assert_eq!(status_of(Some("Nasturtium officinale"), Some("Brassicaceae")).unwrap().0, NonHost);
    // A hybrid sign is no genus.
    assert_eq!(status_of(Some("x Nonesuchia alba"), Some("Ericaceae")).unwrap().0, Ericoid);
}

/// Every crop of the table agrees with the rules for its species, genus and family: a
/// status stated for a crop is not a second opinion.
#[test]
fn every_crop_agrees_with_the_rules() {
    let catalogue = catalogue();
    assert_eq!(catalogue.crops.iter().count(), 157);
    for crop in catalogue.crops.iter() {
        let rule = status_of(crop.species.as_deref(), crop.family.as_deref());
        assert_eq!(rule.map(|(status, _)| status), Some(crop.mycorrhiza), "{}", crop.name);
        assert_eq!(crop.mycorrhiza_from, StatusFrom::Crop, "{}", crop.name);
        // And each names its source.
        assert!(crop.tags.of("mycorrhiza").is_some(), "{}", crop.name);
    }
}

fn one(name: &str) -> String {
    format!("week: w\nrecipe: everyday\nsowings: [{{crop: \"{name}\", cells: 12, tray: 72-cell}}]\n")
}

/// Names taken for a crop: the crop, its status, and whether a remark says so.
#[test]
fn names_that_are_taken_for_the_right_plant() {
    for (name, crop, status, remark) in [
        ("nasturtium", "nasturtium", Host, true),
        ("mustard spinach", "komatsuna", NonHost, true),
        ("spinach mustard", "komatsuna", NonHost, true),
        ("perpetual spinach", "Swiss chard", NonHost, true),
        ("New Zealand spinach", "New Zealand spinach", Variable, true),
        ("pot marigold", "calendula", Host, true),
        ("marrow", "summer squash", Host, true),
        ("sweet pea", "sweet pea", Host, true),
        ("limonium", "statice", Host, true),
        ("sweet alyssum", "sweet alyssum", NonHost, false),
        ("stock", "stock", NonHost, false),
        ("ten-week stock", "stock", NonHost, false),
        ("marigold", "marigold", Host, false),
        ("Indian cress", "nasturtium", Host, false),
        ("vegetable marrow", "summer squash", Host, false),
        ("chard", "Swiss chard", NonHost, false),
        ("silver beet", "Swiss chard", NonHost, false),
        ("rainbow chard", "Swiss chard", NonHost, false),
        ("lamb's lettuce", "corn salad", Host, true),
        ("lamb’s lettuce", "corn salad", Host, true),
        ("mache", "corn salad", Host, false),
        ("cress", "garden cress", NonHost, true),
        ("American cress", "land cress", NonHost, false),
        ("Malabar spinach", "Malabar spinach", Host, true),
        ("wallflower", "wallflower", NonHost, false),
        ("lupine", "lupin", NonHost, false),
        ("Chinese broccoli", "gai lan", NonHost, false),
        ("gai choy", "mustard greens", NonHost, false),
        ("aster", "China aster", Host, true),
    ] {
        let (plan, loaded) = planned(&one(name));
        let found = loaded.week.sowings[0].crop.as_ref().unwrap();
        assert_eq!((found.name.as_str(), found.mycorrhiza), (crop, status), "{name}");
        let said =
            loaded.remarks.iter().any(|found| matches!(found, ReadingNote::Name { written, .. } if written == name));
        assert_eq!(said, remark, "{name}");
        assert_eq!(plan.mixes.batches[0].composition.is_inoculated(), status == Host, "{name}");
    }
    // New Zealand spinach is not spinach, nor is calendula a marigold.
    let catalogue = catalogue();
    assert_ne!(catalogue.crops.find("New Zealand spinach"), catalogue.crops.find("spinach"));
    assert_ne!(catalogue.crops.find("calendula"), catalogue.crops.find("marigold"));
}

/// Names that stand for several plants, or for one that is not in the table: never
/// guessed, the message says what they can be.
#[test]
fn names_that_stop_and_ask() {
    for (name, says) in [
        ("miner's lettuce", "not a lettuce"),
        ("winter purslane", "not portulaca"),
        ("purslane", "the salad"),
        ("Portulaca oleracea", "the salad"),
        ("red sorrel", "Hibiscus"),
        ("roselle", "not related to sorrel"),
        ("balsam", "busy lizzie"),
        ("black-eyed Susan", "climber"),
        ("watercress", "the flower nasturtium is Tropaeolum"),
        ("squash", "differ"),
        ("coneflower", "echinacea"),
    ] {
        let files = trayful::source::Memory::default().with("week.yaml", one(name));
        let rejected = trayful::week::load(std::path::Path::new("week.yaml"), &files, &[]).unwrap_err();
        let text = rejected.to_string().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.starts_with("error[ambiguous-crop]"), "{text}");
        assert!(text.contains(says), "{text}");
        assert_eq!(rejected.problems().count(), 1, "{text}");
    }
}

/// Their own entry makes these names usable, and its genus or family decides.
#[test]
fn an_own_entry_settles_what_a_name_means() {
    for (name, entry, status, from) in [
        ("miner's lettuce", "species: Claytonia perfoliata", Host, "genus"),
        ("winter purslane", "species: Claytonia perfoliata, family: Montiaceae", Host, "genus"),
        ("red sorrel", "species: Hibiscus sabdariffa", Host, "genus"),
        ("balsam", "family: Balsaminaceae", Host, "genus"),
        ("black-eyed Susan", "species: Thunbergia alata, family: Acanthaceae", Host, "genus"),
        ("watercress", "species: Nasturtium officinale, family: Brassicaceae", NonHost, "genus"),
        ("tree lupin", "species: Lupinus arboreus, family: Fabaceae", NonHost, "genus"),
        ("slipper orchid", "family: Orchidaceae", Orchid, "family"),
        // The last word is the user's.
        ("wallflower", "species: Erysimum cheiri, mycorrhiza: host", Host, "crop"),
    ] {
        let text = one(name).replace("sowings", &format!("crops: {{\"{name}\": {{{entry}}}}}\nsowings"));
        let (plan, loaded) = planned(&text);
        let crop = loaded.week.sowings[0].crop.as_ref().unwrap();
        let found = match crop.mycorrhiza_from {
            StatusFrom::Crop => "crop",
            StatusFrom::Species(_) => "species",
            StatusFrom::Genus(_) => "genus",
            StatusFrom::Family(_) => "family",
        };
        assert_eq!((crop.mycorrhiza, found), (status, from), "{name}: {entry}");
        assert_eq!(plan.mixes.batches[0].composition.is_inoculated(), status == Host, "{name}: {entry}");
    }
}

/// Blueberries and their like live with other fungi in acid soil: no inoculant, lime,
/// castings or compost, and a word about the pH.
#[test]
fn blueberries_get_neither_lime_nor_castings() {
    let (plan, _) = planned(
        "week: w\nrecipe: rich\nsowings: [{crop: blueberry, cells: 12, tray: 72-cell}, {crop: leek, cells: 12, tray: 72-cell}]\n",
    );
    let names = |sowing: usize| {
        let batch = &plan.mixes.batches[plan.mixes.layout.sowings[sowing].batch];
        let mut names: Vec<_> = batch.ingredients.iter().map(|part| &part.ingredient).collect();
        names.extend(batch.doses.iter().map(|dose| &dose.ingredient));
        names.into_iter().map(|id| id.name.as_str()).collect::<Vec<_>>()
    };
    assert_eq!(names(0), ["peat", "pine bark", "perlite"]);
    assert_eq!(names(1), ["peat", "pine bark", "perlite", "castings", "compost", "lime", "inoculant"]);
    assert!(
        plan.warnings
            .iter()
            .any(|warning| matches!(warning, trayful::plan::Warning::WantsAcid { crops, .. } if crops.len() == 1))
    );
}
