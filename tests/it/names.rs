//! What crop a name means: plurals, botanical names old and new, named sorts; and which names
//! are never guessed.

use crate::support::run;
use trayful::catalogue::Status::{Ericoid, Host, NonHost, Variable};
use trayful::catalogue::{By, Catalogue, Doubt, Status};

fn meant(name: &str) -> Result<(String, Status, By), Doubt> {
    let (crop, by) = Catalogue::built_in().meant(name)?;
    Ok((crop.name.clone(), crop.mycorrhiza, by))
}

#[track_caller]
fn all_mean(names: &[(&str, &str, Status)], by: By) {
    for (name, crop, status) in names {
        assert_eq!(meant(name), Ok(((*crop).to_owned(), *status, by)), "{name}");
    }
}

#[test]
fn plurals_and_singulars() {
    all_mean(
        &[
            ("beets", "beet", NonHost),
            ("tomatoes", "tomato", Host),
            ("Tomatoes", "tomato", Host),
            ("cherry tomatoes", "tomato", Host),
            ("radishes", "radish", NonHost),
            ("peppers", "pepper", Host),
            ("chillies", "pepper", Host),
            ("leeks", "leek", Host),
            ("onions", "onion", Host),
            ("spring onions", "scallion", Host),
            ("cabbages", "cabbage", NonHost),
            ("cauliflowers", "cauliflower", NonHost),
            ("turnips", "turnip", NonHost),
            ("swedes", "rutabaga", NonHost),
            ("aubergines", "eggplant", Host),
            ("courgettes", "summer squash", Host),
            ("butternut squash", "winter squash", Host),
            ("pattypan squash", "summer squash", Host),
            ("strawberries", "strawberry", Host),
            ("ground cherries", "ground cherry", Host),
            ("poppies", "poppy", Variable),
            ("pansies", "pansy", Host),
            ("broad beans", "fava bean", Host),
            ("runner beans", "runner bean", Host),
            ("peas", "pea", Host),
            ("parsnips", "parsnip", Host),
            ("marigolds", "marigold", Host),
            ("sunflowers", "sunflower", Host),
            ("lupins", "lupin", NonHost),
            ("wallflowers", "wallflower", NonHost),
            ("chive", "chives", Host),
            ("Brussels sprout", "Brussels sprouts", NonHost),
            ("bachelors buttons", "bachelor's button", Host),
            ("babys breath", "gypsophila", NonHost),
        ],
        By::Name,
    );
}

#[test]
fn botanical_names_old_and_new() {
    all_mean(
        &[
            ("Allium porrum", "leek", Host),
            ("Allium schoenoprasum", "chives", Host),
            ("Allium fistulosum", "scallion", Host),
            ("Solanum lycopersicum", "tomato", Host),
            ("Lycopersicon esculentum", "tomato", Host),
            ("Lycopersicum esculentum", "tomato", Host),
            ("Lycopersicum", "tomato", Host),
            ("Lactuca sativa", "lettuce", Host),
            ("Spinacia oleracea", "spinach", NonHost),
            ("Spinacia", "spinach", NonHost),
            ("Brassica oleracea var. italica", "broccoli", NonHost),
            ("brassica oleracea capitata", "cabbage", NonHost),
            ("Brassica rapa subsp. chinensis", "pak choi", NonHost),
            ("Brassica campestris var. chinensis", "pak choi", NonHost),
            ("Brassica pekinensis", "napa cabbage", NonHost),
            ("Brassica alboglabra", "gai lan", NonHost),
            ("Brassica juncea", "mustard greens", NonHost),
            ("Beta vulgaris subsp. cicla", "Swiss chard", NonHost),
            ("Eruca sativa", "arugula", NonHost),
            ("Viola tricolor", "pansy", Host),
            ("Viola × wittrockiana", "pansy", Host),
            ("Viola x wittrockiana", "pansy", Host),
            ("Rosmarinus officinalis", "rosemary", Host),
            ("Salvia officinalis", "sage", Host),
            ("Tropaeolum majus", "nasturtium", Host),
            ("Limonium sinuatum", "statice", Host),
            ("Lupinus", "lupin", NonHost),
            ("Lupinus polyphyllus", "lupin", NonHost),
            ("Dianthus", "dianthus", NonHost),
            ("Dianthus barbatus", "dianthus", NonHost),
            ("Amaranthus caudatus", "love-lies-bleeding", Variable),
            ("Vaccinium corymbosum", "blueberry", Ericoid),
            ("Cheiranthus cheiri", "wallflower", NonHost),
            ("Senecio cineraria", "dusty miller", Host),
            ("Phaseolus coccineus", "runner bean", Host),
            ("Papaver", "poppy", Variable),
            ("Cucurbita moschata", "winter squash", Host),
            ("Vinca rosea", "vinca", Host),
            ("Valerianella olitoria", "corn salad", Host),
        ],
        By::Name,
    );
    for (name, crops) in [
        (
            "Brassica oleracea",
            &["Brussels sprouts", "broccoli", "cabbage", "cauliflower", "collards", "gai lan", "kale", "kohlrabi"][..],
        ),
        ("Beta vulgaris", &["Swiss chard", "beet"]),
        ("Allium cepa", &["onion", "shallot"]),
        ("Cucurbita pepo", &["pumpkin", "summer squash", "winter squash"]),
        ("Cynara cardunculus", &["artichoke", "cardoon"]),
        ("Physalis", &["ground cherry", "tomatillo"]),
    ] {
        assert_eq!(meant(name), Err(Doubt::Several(crops.to_vec())), "{name}");
    }
}

/// A named sort goes by its last words where all plants whose names end so are alike.
#[test]
fn named_sorts() {
    all_mean(
        &[
            ("Red Russian kale", "kale", NonHost),
            ("Red Russian kales", "kale", NonHost),
            ("purple sprouting broccoli", "broccoli", NonHost),
            ("Savoy King cabbage", "cabbage", NonHost),
            ("golden beets", "beet", NonHost),
            ("yellow pear tomato", "tomato", Host),
            ("dwarf French bean", "bean", Host),
            ("baby pak choi", "pak choi", NonHost),
            ("lemon basil", "basil", Host),
            ("red leaf lettuce", "lettuce", Host),
            ("Iceland double poppies", "poppy", Variable),
        ],
        By::LastWords,
    );
    // The wrong plant may hide behind these words.
    for name in [
        "Okinawa spinach",
        "Brazilian cress",
        "prairie flower",
        "Lollo Rossa lettuce",
        "Cuban sorrel",
        "dwarf lavender",
    ] {
        assert_eq!(meant(name), Err(Doubt::Unknown), "{name}");
    }
    // What stops and asks does so behind other words, too.
    for name in ["delicata squash", "yellow coneflower", "fingerling potatoes", "wild watercress"] {
        assert!(matches!(meant(name), Err(Doubt::Trap(_))), "{name}");
    }
}

/// Plants of one word are kept apart.
#[test]
fn look_alikes_stay_apart() {
    for (one, other) in [
        ("nasturtium", "Indian cress"),
        ("lamb's lettuce", "mache"),
        ("cress", "garden cress"),
        ("pot marigold", "calendula"),
    ] {
        assert_eq!(meant(one).unwrap().0, meant(other).unwrap().0, "{one}, {other}");
    }
    for (one, other) in [
        ("nasturtium", "land cress"),
        ("land cress", "garden cress"),
        ("Indian cress", "garden cress"),
        ("lamb's lettuce", "lettuce"),
        ("New Zealand spinach", "spinach"),
        ("Malabar spinach", "spinach"),
        ("mustard spinach", "spinach"),
        ("perpetual spinach", "spinach"),
        ("Chinese spinach", "spinach"),
        ("pot marigold", "marigold"),
        ("sweet pea", "pea"),
        ("gai choy", "gai lan"),
        ("Chinese broccoli", "broccoli"),
        ("anise", "hyssop"),
        ("black salsify", "salsify"),
        ("celery", "celeriac"),
    ] {
        assert_ne!(meant(one).unwrap().0, meant(other).unwrap().0, "{one}, {other}");
    }
    for name in ["watercress", "Nasturtium officinale", "anise hyssop", "evening primrose", "black cumin", "balsam"] {
        assert!(matches!(meant(name), Err(Doubt::Trap(trap)) if trap.species.is_some()), "{name}");
    }
}

/// Plants whose last word is that of another crop: each is kept apart with its own way of life, and the
/// crop's named sorts are still meant. Families from memory.
#[test]
fn compound_names_of_other_plants() {
    use trayful::catalogue::status_of;
    for (name, family, status) in [
        ("water pepper", "Polygonaceae", Variable),
        ("black peppers", "Piperaceae", Host),
        ("skunk cabbage", "Araceae", Variable),
        ("wild bee balm", "Lamiaceae", Host),
        ("sea kale", "Brassicaceae", NonHost),
        ("tree tomato", "Solanaceae", Host),
        ("sweet rocket", "Brassicaceae", NonHost),
        ("dyer's rocket", "Resedaceae", NonHost),
        ("hyacinth beans", "Fabaceae", Host),
        ("mung bean", "Fabaceae", Host),
        ("bean sprouts", "Fabaceae", Host),
        ("butterfly pea", "Fabaceae", Host),
        ("chick peas", "Fabaceae", Host),
        ("marsh marigold", "Ranunculaceae", Host),
        ("corn marigold", "Asteraceae", Host),
        ("fig marigold", "Aizoaceae", Variable),
        ("fool's parsley", "Apiaceae", Host),
        ("bitter melon", "Cucurbitaceae", Host),
        ("pepino melon", "Solanaceae", Host),
        ("Mexican sunflower", "Asteraceae", Host),
        ("bog rosemary", "Ericaceae", Ericoid),
        ("marsh rosemary", "Plumbaginaceae", Variable),
        ("sea pink", "Plumbaginaceae", Variable),
        ("moss pink", "Polemoniaceae", Host),
        ("false flax", "Brassicaceae", NonHost),
        ("false lupin", "Fabaceae", Host),
        ("Chinese artichokes", "Lamiaceae", Host),
        ("Chinese lantern", "Solanaceae", Host),
        ("Hesperis matronalis", "Brassicaceae", NonHost),
        ("Claytonia perfoliata", "Montiaceae", Host),
    ] {
        let Err(Doubt::Trap(trap)) = meant(name) else { panic!("{name}: {:?}", meant(name)) };
        assert_eq!(trap.family.as_deref(), Some(family), "{name}");
        let found = status_of(trap.species.as_deref(), Some(family)).map(|(status, _)| status);
        assert_eq!(found, Some(status), "{name}");
        let shown = run(["show", name]).done();
        assert!(shown.status == 2 && shown.stderr.contains("the table does not have"), "{name}: {}", shown.stderr);
    }
    all_mean(
        &[
            ("ghost pepper", "pepper", Host),
            ("savoy king cabbage", "cabbage", NonHost),
            ("Brandywine tomato", "tomato", Host),
            ("sugar snap pea", "pea", Host),
            ("French dwarf marigold", "marigold", Host),
            ("prostrate rosemary", "rosemary", Host),
        ],
        By::LastWords,
    );
    all_mean(&[("water melon", "watermelon", Host)], By::Name);
}

/// What is shown follows the rule of files: no plant of another way of life is offered.
#[test]
fn show_offers_what_a_file_would() {
    for (name, says) in [
        ("strawberry spinach", "plants called `spinach` are of several families"),
        ("tree spinach", "plants called `spinach` are of several families"),
        ("rock cress", "plants called `cress` are of several families"),
        ("beat", "near are `bean` (Fabaceae), `beet` (Amaranthaceae): write the one you mean\n"),
        ("peet", "did you mean `peat`?"),
        ("kail", "did you mean `kale`?"),
        ("72-cel", "did you mean `72-cell`?"),
    ] {
        let shown = run(["show", name]).done();
        assert!(shown.status == 2 && shown.stderr.contains(says), "{name}: {}", shown.stderr);
    }
    for name in ["strawberry tree", "corn cockle", "pepper tree", "ground elder", "Chilean glory"] {
        run(["show", name]).gives(
            2,
            "",
            &format!("error: nothing is known under `{name}`; `trayful list` tells what is known\n"),
        );
    }
}

const WEEK: &str = "week: w\nrecipe: everyday\n";

fn one(name: &str, rest: &str) -> String {
    format!("{WEEK}{rest}sowings: [{{crop: \"{name}\", cells: 12, tray: 72-cell}}]\n")
}

/// The message on a name, its spaces as they come.
fn refused(name: &str) -> String {
    let output = run(["check", "week.yaml"]).file("week.yaml", one(name, "")).done();
    assert_eq!(output.status, 2, "{name}: {}", output.stderr);
    output.stderr.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_is_said_of_a_name_that_is_no_crop() {
    for (name, says) in [
        ("squash", "can mean more than one plant"),
        ("squash", "write `summer squash` or `winter squash`"),
        ("watercress", "is a plant that the table does not have"),
        ("watercress", "`crops: {watercress: {species: Nasturtium officinale}}`"),
        ("garlic", "is grown from cloves, not from seed in trays"),
        ("potatoes", "is grown from tubers"),
        ("Brassica oleracea", "is the name of several crops"),
        ("Okinawa spinach", "plants called `spinach` are of several families (Aizoaceae, Amaranthaceae"),
        // A name that begins with another letter may be that of another plant.
        ("poolflower", "near are `woolflower` (Amaranthaceae)"),
        ("moonflower", "`crops: {moonflower: {species: Ipomoea alba}}`"),
        ("heather", "of the family Ericaceae"),
        ("rhododendron", "of the family Ericaceae"),
        ("kail", "did you mean `kale`?"),
        ("brocolli", "did you mean `broccoli`?"),
        ("watercrss", "did you mean `watercress`?"),
        // A bean and a beet are as near, and differ in what serves them.
        ("beat", "near are `bean` (Fabaceae), `beet` (Amaranthaceae): write the one you mean"),
        ("xyzzy", "see `trayful list crops`, or add it to your file: `crops: {xyzzy: {family: ...}}`"),
    ] {
        let message = refused(name);
        assert!(message.contains(says), "{says}: {message}");
    }
    // No other plant is offered for these.
    for name in ["Okinawa spinach", "Lollo Rossa lettuce", "dwarf lavender"] {
        assert!(!refused(name).contains("did you mean"), "{}", refused(name));
    }
}

/// What the message says to write can be written, and does not change what the plant is.
#[test]
fn the_advice_can_be_followed() {
    for (name, own, inoculated) in [
        ("watercress", "species: Nasturtium officinale", false),
        // The family of a genus without a rule is that of the name.
        ("skunk cabbage", "species: Symplocarpus foetidus", false),
        ("bee balm", "species: Monarda didyma", true),
        ("garlic", "", true),
        ("miner's lettuce", "species: Claytonia perfoliata", true),
        // A name that is often confused keeps what its plant is.
        ("watercress", "pace: medium", false),
        ("lupine", "family: Fabaceae", false),
        ("lupin", "family: Fabaceae", false),
        ("sea lavender", "family: Plumbaginaceae", false),
        ("cress", "family: Brassicaceae", false),
        // Unless it is said to be another plant.
        ("watercress", "family: Asteraceae", true),
    ] {
        let week = one(name, &format!("crops: {{\"{name}\": {{{own}}}}}\n"));
        let plan: serde_json::Value =
            serde_json::from_str(&run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week).result())
                .unwrap();
        let doses = plan["batches"][0]["doses"].as_array().unwrap();
        assert_eq!(doses.iter().any(|dose| dose["name"] == "inoculant"), inoculated, "{name}: {own}");
    }
}

/// An own crop whose name holds an exception of its family keeps what that is, whatever else the name says.
#[test]
fn an_own_crop_named_after_an_exception() {
    for (name, family, status) in [
        ("Lupinus texensis", "Fabaceae", NonHost),
        ("white lupin", "Fabaceae", NonHost),
        ("Tree Lupines", "Fabaceae", NonHost),
        ("russell lupine mix", "fabaceae", NonHost),
        ("Rheum palmatum", "Polygonaceae", NonHost),
        ("ornamental rhubarb", "Polygonaceae", NonHost),
        ("Silene armeria", "Caryophyllaceae", Variable),
        ("Limonium sinuatum blue", "Plumbaginaceae", Host),
        // Of another family the words say nothing.
        ("lupin-leaved daisy", "Asteraceae", Host),
        ("sainfoin", "Fabaceae", Host),
    ] {
        let week = one(name, &format!("crops: {{\"{name}\": {{family: {family}}}}}\n"));
        let files = trayful::source::Memory::default().with("week.yaml", week);
        let loaded = trayful::week::load(std::path::Path::new("week.yaml"), &files, &[]).unwrap();
        assert_eq!(loaded.week.sowings[0].crop.as_ref().unwrap().mycorrhiza, status, "{name}");
    }
    // What is stated counts.
    for own in ["family: Fabaceae, species: Thermopsis rhombifolia", "family: Fabaceae, mycorrhiza: host"] {
        let week = one("golden lupin", &format!("crops: {{golden lupin: {{{own}}}}}\n"));
        let files = trayful::source::Memory::default().with("week.yaml", week);
        let loaded = trayful::week::load(std::path::Path::new("week.yaml"), &files, &[]).unwrap();
        assert_eq!(loaded.week.sowings[0].crop.as_ref().unwrap().mycorrhiza, Host, "{own}");
    }
}

/// A family that holds plants of another way of life is no stop for an own crop, but is said.
#[test]
fn an_own_crop_by_family_alone() {
    let sheet = |own: &str| {
        run(["plan", "week.yaml"])
            .file("week.yaml", one("sainfoin", &format!("crops: {{sainfoin: {{{own}}}}}\n")))
            .result()
    };
    let said = "`sainfoin` is taken to live as most Fabaceae do; Lupinus of that family do not.";
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(sheet("family: Fabaceae")).contains(said));
    assert!(!flat(sheet("family: Fabaceae, species: Onobrychis viciifolia")).contains("is taken to live"));
    // Of asters none is another.
    assert!(!flat(sheet("family: Asteraceae")).contains("is taken to live"));
    let of_amaranths = flat(sheet("family: Amaranthaceae"));
    assert!(
        of_amaranths.contains("Amaranthus, Atriplex, Celosia and Gomphrena of that family do not"),
        "{of_amaranths}"
    );
}

/// The user's own word stays on the sheet, the table's stands beside it once; two words for one
/// crop are two rows.
#[test]
fn the_users_word_is_kept() {
    let week = format!(
        "{WEEK}sowings:\n  - {{crop: calabrese, cells: 12, tray: 72-cell}}\n  - {{crop: Allium porrum, cells: 12, tray: 72-cell}}\n  \
         - {{crop: tomatoes, cells: 12, tray: 72-cell}}\n  - {{crop: Red Russian kale, cells: 12, tray: 72-cell}}\n"
    );
    let sheet = run(["plan", "week.yaml"]).file("week.yaml", &week).result();
    // In a narrow column, with the line broken between.
    let sown = sheet.split_once("\nSOWING\n").unwrap().1.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(sown.contains("calabrese 1 x 72-cell* 12 12 0.04 6 mm covered 16-29 3-10"), "{sheet}");
    assert_eq!(sheet.matches("broccoli").count(), 1, "{sheet}");
    assert!(sheet.matches("calabrese").count() > 2, "{sheet}");
    assert_eq!((sheet.matches("(leek)").count(), sheet.matches("tomatoes").count()), (1, 0), "{sheet}");
    let flat = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("`Red Russian kale` is taken for kale by its last words"), "{sheet}");
    // Scripts read the table's name, and the user's beside it.
    let json: serde_json::Value =
        serde_json::from_str(&run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", &week).result())
            .unwrap();
    assert_eq!((&json["sowings"][0]["crop"], &json["sowings"][0]["called"]), (&"broccoli".into(), &"calabrese".into()));
    assert_eq!(json["sowings"][2].get("called"), None);
    let two = format!(
        "{WEEK}sowings:\n  - {{crop: calabrese, cells: 12, tray: 72-cell}}\n  - {{crop: broccoli, cells: 12, tray: 72-cell}}\n"
    );
    let sheet = run(["plan", "week.yaml"]).file("week.yaml", &two).result();
    let rows: Vec<&str> = sheet.lines().filter(|line| line.contains(" 1 x 72-cell*     12 ")).collect();
    assert!(rows.len() == 2 && rows[0].starts_with("calabrese ") && rows[1].starts_with("broccoli "), "{sheet}");
    assert!(sheet.contains("Fills 1 x 72-cell broccoli and calabrese."), "{sheet}");
    // However it is written, one word is one: also where each sowing is no longer listed.
    let cases = ["calabrese", "Calabrese"].map(|crop| format!("  - {{crop: {crop}, cells: 12, tray: 72-cell}}\n"));
    let many = format!("{WEEK}sowings:\n{}", cases.concat().repeat(150));
    let sheet = run(["plan", "week.yaml"]).file("week.yaml", &many).result();
    assert_eq!(sheet.matches("(broccoli)").count(), 1, "{sheet}");
    let json: serde_json::Value =
        serde_json::from_str(&run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", &two).result()).unwrap();
    assert_eq!(json["batches"][0]["crops"], serde_json::json!(["broccoli"]));
    assert_eq!(json["covering"][0]["layers"][0]["crops"], serde_json::json!(["broccoli"]));
    // Without a list of sowings it stands where the crop is named first.
    for command in
        ["scale everyday --make 9_L --crop calabrese", "fill everyday --tray 72-cell --have peat=9_L --crop calabrese"]
    {
        let words = command.split(' ').map(|word| word.replace('_', " "));
        let said = run(words).done().stdout;
        assert_eq!(said.matches("for calabrese (broccoli)").count(), 1, "{said}");
    }
    // A change for the crop holds under any of its names, in the recipe as in the week.
    let recipe = "recipe: own\nparts: {peat: 1, perlite: 1}\nchanges: [{for: calabreses, drop: [perlite]}]\n";
    let week = one("Brassica oleracea var. italica", "").replace("everyday", "own");
    let sheet = run(["plan", "week.yaml"]).file("week.yaml", week).file("own.yaml", recipe).result();
    assert!(sheet.contains("No perlite"), "{sheet}");
    // A named sort is none in a recipe: it would change all kale.
    let recipe = recipe.replace("calabreses", "Red Russian kale");
    let output = run(["plan", "week.yaml"])
        .file("week.yaml", one("kale", "").replace("everyday", "own"))
        .file("own.yaml", recipe)
        .done();
    assert_eq!(output.status, 2, "{}", output.stdout);
}

/// An own crop may take another's facts.
#[test]
fn a_crop_like_another() {
    let plan = |own: &str| {
        let week = format!("{WEEK}crops: {{{own}}}\nsowings: [{{crop: mine, plants: 50, tray: 72-cell}}]\n");
        let output = run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week).done();
        assert_eq!(output.status, 0, "{}", output.stderr);
        serde_json::from_str::<serde_json::Value>(&output.stdout).unwrap()
    };
    let inoculated = |plan: &serde_json::Value| plan["batches"][0]["doses"].to_string().contains("inoculant");
    // Broccoli: 75 % by law, 300 seeds a gram, no inoculant.
    let like = plan("mine: {like: broccoli}");
    let broccoli =
        plan("mine: {species: Brassica oleracea, family: Brassicaceae, germination: 75 %, seeds_per_gram: 300}");
    assert_eq!((inoculated(&like), &like["sowings"][0]["cells"]), (false, &broccoli["sowings"][0]["cells"]));
    assert_eq!(like["sowings"][0]["seed_g"], broccoli["sowings"][0]["seed_g"]);
    assert_eq!(like["sowings"][0]["crop"], "mine");
    // What it states wins, and another plant is not of its way of life.
    let other = plan("mine: {like: broccoli, species: Zinnia elegans, family: Asteraceae, germination: 90 %}");
    assert!(inoculated(&other) && other["sowings"][0]["cells"].as_u64() < like["sowings"][0]["cells"].as_u64());
    assert_eq!(plan("other: {like: tomato}, mine: {like: other}")["sowings"][0]["crop"], "mine");
    let week =
        format!("{WEEK}crops: {{mine: {{like: brokoli}}}}\nsowings: [{{crop: mine, cells: 5, tray: 72-cell}}]\n");
    let output = run(["check", "week.yaml"]).file("week.yaml", week).done();
    assert!(output.status == 2 && output.stderr.contains("no crop is called `brokoli`"), "{}", output.stderr);
}

/// Common practice, no source: three seeds a cell of what is as fine as dust, thinned to one,
/// unless it is pelleted.
#[test]
fn dust_fine_seed_is_sown_by_threes() {
    let seeds = |sowing: &str| {
        let week = format!("{WEEK}sowings: [{{crop: {sowing}, tray: 72-cell}}]\n");
        let text = run(["plan", "week.yaml", "--format", "json"]).file("week.yaml", week).result();
        let plan: serde_json::Value = serde_json::from_str(&text).unwrap();
        let codes: Vec<String> =
            plan["notes"].as_array().unwrap().iter().map(|note| note["code"].as_str().unwrap().to_owned()).collect();
        (plan["sowings"][0]["seeds_to_take"].as_u64(), codes.contains(&"thin-out".to_owned()))
    };
    assert_eq!(seeds("begonia, cells: 20"), (Some(60), true));
    assert_eq!(seeds("begonia, cells: 20, pelleted: yes"), (Some(20), false));
    assert_eq!(seeds("begonia, cells: 20, seeds: 5"), (Some(100), true));
    assert_eq!(seeds("kale, cells: 20"), (Some(20), false));
    assert_eq!(seeds("begonia, potted: 20"), (None, false));
    let text = run(["scale", "fine seed", "--tray", "72-cell", "--crop", "petunia", "--format", "json"]).result();
    let plan: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(plan["sowings"][0]["seeds_to_take"], 216);
}

#[test]
fn pelleted_seed_has_a_row_of_its_own_and_what_is_spared_is_told() {
    let rows =
        "  - {crop: petunia, cells: 20, tray: 72-cell}\n  - {crop: petunia, cells: 20, tray: 72-cell, pelleted: yes}\n";
    let plan = |rows: &str| run(["plan", "week.yaml"]).file("week.yaml", format!("{WEEK}sowings:\n{rows}")).result();
    let sheet = plan(rows);
    // Three seeds a cell, by the count: no scale shows their weight.
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(&sheet).contains("petunia 1 x 72-cell* 20 x 3 60 open"), "{sheet}");
    assert!(flat(&sheet).contains("petunia, pelleted 1 x 72-cell* 20 20 open"), "{sheet}");
    assert!(flat(&sheet).contains("1-4 petunia, 5-8 petunia, pelleted, 9-12 empty."), "{sheet}");
    let potted = |more: &str| {
        let row = format!("  - {{crop: tomato, potted: 200, tray: 9 cm pot{more}}}\n");
        let sheet = plan(&row).split_whitespace().collect::<Vec<_>>().join(" ");
        (sheet.contains("210 pots"), sheet.contains("Of tomato 5 % more are potted on than wanted, to spare"))
    };
    assert_eq!(
        ["", ", spare: 0 %", ", spare: 10 pots", ", spare: 5 %"].map(potted),
        [(true, true), (false, false), (true, false), (true, false)]
    );
}
