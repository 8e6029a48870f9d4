//! The engine that evaluates a script, and the walls around it: no clock, no chance, no `eval`, no files but those of its
//! own folder, and an end to everything that could go on for ever. What the verbs do is not here.

use super::error::ScriptError;
use super::evaluation::{Evaluation, thrown};
use super::import::{Importer, MOST_IMPORTS};
use super::part::Part;
use super::policy;
use super::verb::Verb;
use super::verbs::all_verbs;
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage,
    BasicStringPackage, LogicPackage, Package,
};
use rhai::{Dynamic, Engine, EvalAltResult, NativeCallContext, OptimizationLevel};
use std::rc::Rc;
use std::time::{Duration, Instant};

/// The most steps that a script may take.
pub(crate) const MOST_OPERATIONS: u64 = 20_000_000;
/// The longest that a script may take. Only a guard: whatever it stops would have been too long anyway.
pub(crate) const LONGEST: Duration = Duration::from_secs(10);
/// The deepest that functions may call one another.
pub(crate) const DEEPEST_CALLS: usize = 24;
const DEEPEST_EXPRESSION: usize = 64;
const DEEPEST_EXPRESSION_IN_FUNCTION: usize = 32;
/// The most variables at one time. With the sizes below they hold some 60 MB at the very most.
const MOST_VARIABLES: usize = 256;
const MOST_FUNCTIONS: usize = 128;
pub(crate) const LONGEST_TEXT: usize = 100_000;
pub(crate) const LONGEST_LIST: usize = 5_000;
pub(crate) const LARGEST_MAP: usize = 500;

/// The words of Rhai that a script does without: they reach outside it, or hide how much it holds.
const SWITCHED_OFF: [&str; 6] = ["eval", "Fn", "call", "curry", "is_def_fn", "is_def_var"];

/// Makes the engine for one evaluation.
pub(crate) fn engine(evaluation: &Rc<Evaluation>) -> Engine {
    let mut engine = Engine::new_raw();
    for package in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
    ] {
        engine.register_global_module(package);
    }
    for word in SWITCHED_OFF {
        engine.disable_symbol(word);
    }
    limit(&mut engine);
    engine.set_module_resolver(Importer::new(evaluation));
    // Without this, 6/4 would be folded to 1 before anybody could object.
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_fast_operators(false);
    engine.on_print(|_| ());
    engine.on_debug(|_, _, _| ());
    engine.register_type_with_name::<Part>("part");
    policy::register(&mut engine);
    divide(&mut engine, evaluation);
    compare(&mut engine);
    for verb in all_verbs() {
        register(&mut engine, evaluation, verb);
    }
    engine
}

fn limit(engine: &mut Engine) {
    engine
        .set_strict_variables(true)
        .set_fail_on_invalid_map_property(true)
        .set_max_operations(MOST_OPERATIONS)
        .set_max_call_levels(DEEPEST_CALLS)
        .set_max_expr_depths(DEEPEST_EXPRESSION, DEEPEST_EXPRESSION_IN_FUNCTION)
        .set_max_variables(MOST_VARIABLES)
        .set_max_functions(MOST_FUNCTIONS)
        .set_max_modules(MOST_IMPORTS)
        .set_max_string_size(LONGEST_TEXT)
        .set_max_array_size(LONGEST_LIST)
        .set_max_map_size(LARGEST_MAP);
    let start = Instant::now();
    engine.on_progress(move |operations| {
        let late = operations % 1024 == 0 && start.elapsed() > LONGEST;
        late.then(|| Dynamic::from("time"))
    });
}

/// Makes a division of whole numbers that leaves a rest a mistake: 6/4 would silently be 1.
fn divide(engine: &mut Engine, evaluation: &Rc<Evaluation>) {
    let whole = |evaluation: &Evaluation, context: &NativeCallContext, a: i64, b: i64| {
        if b != 0
            && a.checked_rem(b) == Some(0)
            && let Some(result) = a.checked_div(b)
        {
            return Ok(result);
        }
        let position = context.call_position();
        let source = evaluation.source_of(context.call_source());
        let span = source.operation_at(source.byte_of(position));
        let error = if b == 0 {
            ScriptError::new(format!("{a} is divided by zero"))
                .help("check what stands below the line".to_string())
        } else {
            ScriptError::new(format!(
                "{a} / {b} divides whole numbers, which drops the rest and gives {}",
                a / b
            ))
            .help(format!("write one of them with a point to keep the rest: {a}.0 / {b}"))
        };
        Err(thrown(error.at(&source, span), position))
    };
    let owned = Rc::clone(evaluation);
    engine.register_fn("/", move |context: NativeCallContext, a: i64, b: i64| whole(&owned, &context, a, b));
    let owned = Rc::clone(evaluation);
    engine.register_fn(
        "/=",
        move |context: NativeCallContext, a: &mut i64, b: i64| -> Result<(), Box<EvalAltResult>> {
            *a = whole(&owned, &context, *a, b)?;
            Ok(())
        },
    );
}

/// Makes comparing a text with a number a mistake: it would silently be false.
fn compare(engine: &mut Engine) {
    let refused = |text: &str| -> Result<bool, Box<EvalAltResult>> {
        let why = format!(
            "a number is compared with the text \"{text}\"; days are compared with days in quotes, \"MM-DD\""
        );
        Err(EvalAltResult::ErrorRuntime(why.into(), rhai::Position::NONE).into())
    };
    for sign in ["<", "<=", ">", ">=", "==", "!="] {
        engine.register_fn(sign, move |text: &str, _number: i64| refused(text));
        engine.register_fn(sign, move |text: &str, _number: f64| refused(text));
        engine.register_fn(sign, move |_number: i64, text: &str| refused(text));
        engine.register_fn(sign, move |_number: f64, text: &str| refused(text));
    }
}

/// Registers a verb for each number of arguments that it takes.
fn register(engine: &mut Engine, evaluation: &Rc<Evaluation>, verb: &'static Verb) {
    type Called = Result<Dynamic, Box<EvalAltResult>>;
    let most = verb.arguments.len();
    let least = verb.arguments.iter().filter(|argument| !argument.optional).count();
    for count in least..=most {
        let evaluation = Rc::clone(evaluation);
        match count {
            1 => engine.register_fn(verb.name, move |context: NativeCallContext, a: Dynamic| -> Called {
                evaluation.call(&context, verb, vec![a])
            }),
            2 => engine.register_fn(
                verb.name,
                move |context: NativeCallContext, a: Dynamic, b: Dynamic| -> Called {
                    evaluation.call(&context, verb, vec![a, b])
                },
            ),
            3 => engine.register_fn(
                verb.name,
                move |context: NativeCallContext, a: Dynamic, b: Dynamic, c: Dynamic| -> Called {
                    evaluation.call(&context, verb, vec![a, b, c])
                },
            ),
            _ => engine.register_fn(
                verb.name,
                move |context: NativeCallContext, a: Dynamic, b: Dynamic, c: Dynamic, d: Dynamic| -> Called {
                    evaluation.call(&context, verb, vec![a, b, c, d])
                },
            ),
        };
    }
}
