//! The pages in a real browser: nothing overflows, two sides of paper hold them, ticks stay. Skipped, and
//! said so, where no Chromium is installed.

use super::support::{root, run};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

/// The names that the browser's package gives it.
const NAMES: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];

/// A page of the demo week, of the season that ships, of a mix in the cell, or of one with a part swapped.
fn page(command: &str) -> String {
    let season = ["season", "../seasons/plant-sale.yaml", "--today", "2027-01-04"];
    let words: &[&str] = match command {
        "season" => &season,
        "show" => &["show", "everyday", "--with", "rich", "--tray", "128-cell", "--tray", "5 cm block"],
        "swap" => &["swap", "everyday", "--without", "vermiculite"],
        _ => &[command, "plant-sale-1.yaml"],
    };
    run([words, &["--format", "html"]].concat()).within(root().join("recipes/weeks")).result()
}

/// What a browser prints, asked so, with a profile of its own; nothing where there is none.
fn browsed(profile: &Path, arguments: &[&str]) -> Option<String> {
    let found = NAMES.into_iter().find_map(|name| {
        Command::new(name)
            .args(["--headless=new", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"])
            .args(["--virtual-time-budget=4000", &format!("--user-data-dir={}", profile.display())])
            .args(arguments)
            .stderr(Stdio::null())
            .output()
            .ok()
    });
    #[allow(clippy::print_stderr)]
    if found.is_none() {
        eprintln!("SKIPPED: no Chromium here, so no page was opened in a browser");
    }
    found.map(|output| String::from_utf8(output.stdout).unwrap())
}

/// What a script in a page writes into its body, run there.
fn told(folder: &Path, page: &str, script: &str) -> Option<Value> {
    let path = folder.join("asked.html");
    fs::write(&path, format!("{page}<script>{script}</script>")).unwrap();
    let page = browsed(&folder.join("profile"), &["--dump-dom", &format!("file://{}", path.display())])?;
    let (_, told) = page.split_once("<pre id=\"told\">").unwrap_or_else(|| panic!("{page}"));
    let told = told.split_once("</pre>").unwrap().0.replace("&lt;", "<").replace("&amp;", "&").replace("&gt;", ">");
    Some(serde_json::from_str(&told).unwrap())
}

/// Writes what was found where [`told`] looks.
const TELL: &str = "const tell = found => { const told = document.createElement('pre'); told.id = 'told'; \
                    told.textContent = JSON.stringify(found); document.body.append(told); };";

#[test]
fn nothing_overflows_and_pictures_can_be_read_on_a_phone_a_tablet_and_a_desktop() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["plan", "labels", "soak", "season", "show", "swap"] {
        let page = page(command);
        assert_eq!(page.contains("<svg class=\"course\""), ["plan", "soak"].contains(&command));
        let text = serde_json::to_string(&page).unwrap().replace("</", "<\\/");
        // A window is never so narrow as a phone; a frame is.
        let script = format!(
            "{TELL} const page = {text}; const found = {{}}; let left = 3; \
             for (const width of [360, 768, 1280]) {{ const frame = document.createElement('iframe'); \
             frame.style.cssText = `width:${{width}}px;height:800px;border:0`; frame.onload = () => {{ \
             const body = frame.contentDocument; const over = []; \
             for (const one of body.querySelectorAll('main *')) {{ const box = one.getBoundingClientRect(); \
             if (box.right > width + 1 && !one.closest('thead')) over.push(one.tagName + ' ' + one.textContent.slice(0, 40)); \
             const high = one.getAttribute('font-size') * (one.getScreenCTM?.().a ?? 1); \
             if (high && high < 11) over.push(`${{one.textContent}} is ${{high}} px high`); }} \
             found[width] = {{scroll: body.documentElement.scrollWidth, over}}; if (--left === 0) tell(found); }}; \
             frame.srcdoc = page; document.body.append(frame); }}"
        );
        let Some(found) = told(folder.path(), "<!DOCTYPE html><body>", &script) else { return };
        for width in [360, 768, 1280] {
            let of = &found[width.to_string()];
            assert_eq!(of["over"], Value::Array(Vec::new()), "{command} at {width}");
            assert!(of["scroll"].as_u64().unwrap() <= width, "{command} at {width}: {of}");
        }
    }
}

#[test]
fn two_sides_of_paper_hold_the_page() {
    let folder = tempfile::tempdir().unwrap();
    for (paper, size) in [("A4", "A4"), ("Letter", "letter")] {
        let path = folder.path().join("page.html");
        let text = page("plan").replacen("@page {", &format!("@page {{ size: {size};"), 1);
        fs::write(&path, text).unwrap();
        let pdf = folder.path().join("page.pdf");
        let print = format!("--print-to-pdf={}", pdf.display());
        let address = format!("file://{}", path.display());
        if browsed(&folder.path().join("profile"), &[&print, &address]).is_none() {
            return;
        }
        let bytes = fs::read(&pdf).unwrap();
        let sides = bytes.windows(11).filter(|found| found.starts_with(b"/Type /Page") && found.len() == 11);
        // Each side, and the list of them.
        let all = sides.count();
        let lists = bytes.windows(12).filter(|found| *found == b"/Type /Pages").count();
        assert!((1..=2).contains(&(all - lists)), "{paper}: {} sides", all - lists);
    }
}

#[test]
fn ticks_stay_and_nothing_leaves_the_page() {
    let page = page("plan");
    let address = ["http:", "https:", "src=", "href=", "@import"].into_iter().find(|part| page.contains(part));
    assert_eq!(address, None);
    assert_eq!(page.matches("url(").count(), page.matches("url(#p").count());
    let folder = tempfile::tempdir().unwrap();
    let boxes = "[...document.querySelectorAll('input[type=checkbox]')]";
    let first = format!("{TELL} const boxes = {boxes}; boxes[1].click(); tell(boxes.map(one => one.checked));");
    let Some(ticked) = told(folder.path(), &page, &first) else { return };
    let again = told(folder.path(), &page, &format!("{TELL} tell({boxes}.map(one => one.checked));")).unwrap();
    assert!(ticked.as_array().unwrap().len() > 4 && ticked[1] == true && ticked[0] == false, "{ticked}");
    assert_eq!(ticked, again);
}

#[test]
fn every_figure_of_the_bench_stands_on_the_page() {
    let page = page("plan").split_whitespace().collect::<Vec<_>>().join(" ");
    let plan = run(["plan", "plant-sale-1.yaml", "--format", "json"]).within(root().join("recipes/weeks")).result();
    let plan: Value = serde_json::from_str(&plan).unwrap();
    let quarters = |scoops: f64| {
        let rest = ["", " 1/4", " 1/2", " 3/4"][(scoops.fract() * 4.0).round() as usize];
        format!("{}{rest}", scoops.trunc() as u64)
    };
    let mixing = &plan["mixing"];
    let bases = mixing["shared_bases"].as_array().unwrap().iter().flat_map(|base| base["loads"].as_array().unwrap());
    let batches = mixing["batches"].as_array().unwrap().iter().flat_map(|batch| batch["loads"].as_array().unwrap());
    let mut looked = 0;
    for load in bases.chain(batches) {
        for measure in load["measures"].as_array().unwrap() {
            let scoops = quarters(measure["scoops"].as_f64().unwrap());
            let name = measure["name"].as_str().unwrap();
            assert!(page.contains(name) && page.contains(&scoops), "{measure}");
            looked += 1;
        }
        for dose in load["doses"].as_array().unwrap() {
            let grams = (dose["grams"].as_f64().unwrap() * 10.0).ceil() / 10.0;
            assert!(page.contains(&format!("{grams} g")), "{dose}");
            looked += 1;
        }
    }
    assert!(looked >= 7, "{looked}");
}
