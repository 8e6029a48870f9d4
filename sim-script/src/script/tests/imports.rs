//! Files that a script imports: what they can give, where their mistakes are shown, and what they cannot reach.

use super::super::*;
use std::fs;

/// A farm whose machines and rules come from a file beside it.
const FARM: &str = r#"import "kit" as kit;
farm(#{
    name: "Two fields",
    suitable_days: [suitable(#{ class: "drilling", p_suitable: 1.0 })],
    classes: [work_class("drilling", #{ driver: "soil" })],
    people: [person("Driver", #{ hours: "08:00-18:00", drives: ["drill"] })],
    machines: [kit::drill(3.0)], outfits: kit::outfits,
    crops: [crop("barley", #{ following: [
        operation("drilling", #{ class: "drilling", outfits: ["drill"], from: "03-01", due: "03-20" }),
    ] })],
    fields: [field("North", #{ area_ha: 20.0, soil: "loam", following: "barley" })],
    policy: policy(#{ hold: |job| kit::wait(job) }),
})"#;

const KIT: &str = r#"// What the neighbours have too.
fn drill(width_m) {
    machine("drill", #{ width_m: width_m, speed_km_h: 10.0, efficiency: 0.7, needs_driver: true })
}
fn wait(job) { job.days_in_hand > 15.0 }
export let outfits = [outfit("drill", #{ machines: ["drill"] })];
"#;

/// What comes of a script with some files beside it.
fn with(script: &str, files: &[(&str, &str)]) -> Result<Evaluated, ScriptError> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    let path = folder.path().join("farm.rhai");
    fs::write(&path, script).unwrap();
    let mut script = Script::from_file(&path)?;
    let source = Source::new("farm.rhai", script.source());
    script.source = Arc::new(source);
    script.evaluate(&[])
}

#[test]
fn parts_and_functions_of_a_file_serve_as_the_scripts_own() {
    let evaluated = with(FARM, &[("kit.rhai", KIT)]).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(evaluated.farm.machines[0].width_m, Some(3.0));
    assert_eq!(evaluated.farm.outfits.len(), 1);
    assert_eq!(evaluated.files.iter().map(|file| file.name.as_str()).collect::<Vec<_>>(), ["kit.rhai"]);
    for import in ["import \"./kit.rhai\" as kit;", "import \"sub/kit\" as kit;"] {
        let script = FARM.replace("import \"kit\" as kit;", import);
        let files = [("kit.rhai", KIT), ("sub/kit.rhai", KIT)];
        with(&script, &files).unwrap_or_else(|error| panic!("{import}: {error}"));
    }
    // A file may import another, and the script both; each is evaluated once.
    let kit = format!("import \"more\" as more;\n{KIT}export let again = more::number;");
    let script = FARM.replace("farm(#{", "import \"more\" as more;\nfarm(#{");
    with(&script, &[("kit.rhai", &kit), ("more.rhai", "export let number = 3;")]).unwrap();
}

/// Decisions use what was imported, and what it reads is not taken for the same in every season.
#[test]
fn decisions_call_imported_functions() {
    use sim_core::kernel::NoTrace;
    use sim_core::study::{Study, Variant};
    let script = Script::embedded("farm.rhai", FARM, &[("kit.rhai", KIT)]);
    let evaluated = script.evaluate(&[]).unwrap_or_else(|error| panic!("{error}"));
    let farm = Farm::new(&evaluated.farm).unwrap();
    let study =
        Study { variants: vec![Variant::new("base", farm).unwrap()], seasons: 1, seed: 1, threads: 1 };
    let farm = study.variants[0].plan.farm();
    let deciders = Deciders { variants: vec![DecidedBy { script: &script, set: &[], farm, scripted: true }] };
    let outcome = study.work_one(&deciders, 0, 0, &mut NoTrace).unwrap();
    // 20 ha at 2.1 ha/h take 0.95 of a day. On 5 March 16 days are left, so 15.05 in hand: it is drilled on the 6th.
    let day = outcome.rows[0].finish.unwrap() / 86_400;
    assert_eq!(day - 59, 5);
}

#[test]
fn mistakes_are_shown_in_the_file_that_has_them() {
    let mut all = String::new();
    let number = "export let n = 1;";
    for (script, kit) in [
        (FARM.to_string(), KIT.replace("speed_km_h", "speed")),
        (FARM.to_string(), KIT.replace("outfit(\"drill\", #{ machines", "outfit(\"drill\", #{ machine")),
        (FARM.to_string(), KIT.replace("fn drill(width_m) {", "fn drill(width_m) ")),
        (FARM.to_string(), KIT.replace("0.7", "7/10")),
        (FARM.to_string(), KIT.replace("outfits = [", "outfits = [nothing, ")),
        (FARM.to_string(), format!("{KIT}let later = |x| x;")),
        (FARM.to_string(), format!("{KIT}export let width = param(\"width_m\", 3.0);")),
        (FARM.to_string(), format!("{KIT}fn machine(x) {{ x }}")),
        (FARM.to_string(), format!("import \"farm\" as farm;\n{KIT}")),
        (FARM.to_string(), format!("import \"kit\" as kit;\n{KIT}")),
        (FARM.replace("kit::drill", "kit::dril"), KIT.to_string()),
        (FARM.replace("kit::outfits", "kit::outfit_list"), KIT.to_string()),
        (FARM.replace("kit::drill", "kid::drill"), KIT.to_string()),
        (FARM.replace("\"kit\" as", "\"kits\" as"), KIT.to_string()),
        (FARM.replace("\"kit\" as", "\"../kit\" as"), KIT.to_string()),
        (FARM.replace("\"kit\" as", "\"/etc/kit\" as"), KIT.to_string()),
        (FARM.replace("kit::wait(job)", "{ import \"kit\" as own; true }"), KIT.to_string()),
        (format!("for n in 0..9 {{ import \"number\" as number; }}\n{FARM}"), KIT.to_string()),
    ] {
        let folder = [("kit.rhai", kit.as_str()), ("number.rhai", number)];
        let error = match with(&script, &folder) {
            Err(error) => error.to_string(),
            Ok(evaluated) => match Farm::new(&evaluated.farm) {
                Err(error) => evaluated.explain(&error).to_string(),
                Ok(_) => "no mistake seen before a season".into(),
            },
        };
        all += &format!("{error}\n\n");
    }
    insta::assert_snapshot!(all);
}

#[test]
fn files_outside_the_folder_are_not_imported() {
    let root = tempfile::tempdir().unwrap();
    let inside = root.path().join("farm");
    fs::create_dir_all(&inside).unwrap();
    fs::write(root.path().join("kit.rhai"), KIT).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(root.path().join("kit.rhai"), inside.join("link.rhai")).unwrap();
    let absolute = root.path().join("kit.rhai").display().to_string();
    for outside in ["../kit", "./../kit", "x/../../kit", &absolute, "C:\\kit", "..\\kit", "link", "//kit", ""]
    {
        let path = inside.join("farm.rhai");
        fs::write(&path, FARM.replace("\"kit\" as", &format!("{outside:?} as"))).unwrap();
        let error = Script::from_file(&path).unwrap().evaluate(&[]).map(|_| ()).unwrap_err();
        assert!(error.to_string().starts_with("error: "), "{outside}: {error}");
        let message = error.message();
        let walls = ["outside the script's folder", "leads out of the script's folder", "there is no file"];
        assert!(walls.iter().any(|wall| message.contains(wall)), "{outside}: {message}");
    }
}

/// A file that is imported has the walls of the script itself.
#[test]
fn hostile_files_are_stopped() {
    let circle = ("b.rhai", "import \"a\" as a; export let n = 1;");
    for hostile in [
        "loop {}",
        "fn f(n) { f(n + 1) } f(1);",
        "let t = \"x\"; loop { t += t; }",
        "let a = [1]; loop { a += a; }",
        "let m = #{}; let n = 0; loop { m[`k${n}`] = n; n += 1; }",
        "try { loop {} } catch { } loop {}",
        "import \"a\" as a;",
        "import \"b\" as b;",
        "import \"../a\" as a;",
        "eval(\"1\");",
        "timestamp();",
        "let f = |x| x;",
        "farm(#{});",
        "loop { import \"b\" as b; }",
    ] {
        let script = format!("import \"a\" as a;\n{}", FARM.replace("import \"kit\" as kit;\n", ""));
        let error = with(&script, &[("a.rhai", hostile), circle]).map(|_| ()).expect_err(hostile);
        assert!(error.to_string().starts_with("error: "), "{hostile}: {error}");
    }
}
