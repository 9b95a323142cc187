//! Whole sheets as snapshots. `INSTA_UPDATE=always cargo test --test cli sheets` writes
//! them anew; read every change as the grower would.

use crate::support::run;

fn settings() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

fn snapshot(name: &str, arguments: &[&str]) {
    let sheet = run(arguments).within(crate::support::root().join("recipes/weeks")).result();
    settings().bind(|| insta::assert_snapshot!(name, sheet));
}

#[test]
fn the_first_demo_week() {
    for format in ["text", "markdown", "html"] {
        snapshot(&format!("plant-sale-1-{format}"), &["plan", "plant-sale-1.yaml", "--format", format]);
    }
}

#[test]
fn the_second_demo_week() {
    for format in ["text", "markdown", "html"] {
        snapshot(&format!("plant-sale-2-{format}"), &["plan", "plant-sale-2.yaml", "--format", format]);
    }
}

#[test]
fn explained_in_us_units() {
    snapshot("plant-sale-1-explain-us", &["plan", "plant-sale-1.yaml", "--explain", "--units", "us"]);
}

#[test]
fn one_mix() {
    snapshot("scale-everyday", &["scale", "everyday", "--tray", "72-cell=4"]);
    snapshot("scale-soil-blocks", &["scale", "soil blocks", "--make", "20 L", "--crop", "kale"]);
}

#[test]
fn the_catalogue() {
    snapshot("list-trays", &["list", "trays"]);
    snapshot("list-recipes", &["list", "recipes"]);
    snapshot("show-kale", &["show", "kale"]);
    snapshot("show-everyday", &["show", "everyday"]);
    snapshot("show-coir", &["show", "coir"]);
}
