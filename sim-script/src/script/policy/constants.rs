//! Texts that decisions compare with what they look at. A day that is written otherwise than days are is a mistake; a name
//! that the farm does not have may be meant for another farm of the same script, so that it is worth a second look.

use super::PolicyPart;
use super::decide::body;
use super::names::WEEKDAYS;
use crate::script::error::ScriptError;
use crate::script::source::Source;
use crate::words::nearest;
use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, OptimizationLevel, Position, Stmt};
use sim_core::farm::spec::{FarmSpec, TILLAGE};
use sim_core::weather::MonthDay;
use std::sync::Arc;

/// A text that is compared with a property.
struct Compared<'a> {
    property: &'a str,
    text: &'a str,
    /// Whether by `<` and the like.
    by_order: bool,
    position: Position,
}

/// What a script's decisions compare with the farm and the farm does not have, each as a sentence.
///
/// # Errors
/// A day of the year or of the week that is none.
pub(in super::super) fn strange_names(
    source: &Arc<Source>,
    policy: &PolicyPart,
    farm: &FarmSpec,
) -> Result<Vec<String>, ScriptError> {
    let mut engine = Engine::new_raw();
    engine.set_optimization_level(OptimizationLevel::None);
    let mut strange = Vec::new();
    for (of, _) in policy.closures() {
        let (key, view) = (of.key(), of.about());
        let looked_at =
            source.value(policy.offset, key).and_then(|value| source.tokens().get(value.start + 1));
        let (Some(looked_at), Some(text)) = (looked_at, body(source, policy.offset, key)) else { continue };
        let looked_at = source.word(*looked_at);
        let Ok(body) = engine.compile(text) else { continue };
        let mut wrong = None;
        each_compared(&body, looked_at, &mut |compared| {
            let at = source.byte_of(compared.position);
            let written = format!("`{looked_at}.{}`", compared.property);
            if let Some((message, help)) = no_day(&compared, &written) {
                wrong.get_or_insert((message, help, at));
                return;
            }
            let Some((what, names)) = names(compared.property, view, farm) else { return };
            if names.contains(&compared.text) {
                return;
            }
            let meant = nearest(compared.text, names.into_iter());
            let meant = meant.map_or_else(|| ".".into(), |name| format!("; did you mean \"{name}\"?"));
            strange.push(format!(
                "`{key}` compares {written} with \"{}\" in line {}, but the farm has no such {what}{meant}",
                compared.text,
                source.line(at),
            ));
        });
        if let Some((message, help, at)) = wrong {
            return Err(ScriptError::new(message).at(source, source.span_at(at)).help(help));
        }
    }
    Ok(strange)
}

/// Tells of every text that is compared with a property of what is looked at.
fn each_compared(body: &AST, looked_at: &str, tell: &mut impl FnMut(Compared<'_>)) {
    body.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::FnCall(call, _)) | ASTNode::Stmt(Stmt::FnCall(call, _))) = path.last()
        {
            compared(call, looked_at, tell);
        }
        true
    });
}

fn compared(call: &FnCallExpr, looked_at: &str, tell: &mut impl FnMut(Compared<'_>)) {
    let [one, other] = call.args.as_slice() else { return };
    let by_order = matches!(call.name.as_str(), "<" | "<=" | ">" | ">=");
    let texts = match (call.name.as_str(), one) {
        // `text in list` is list, text here.
        ("contains", Expr::Array(list, _)) => list.as_slice(),
        ("contains" | "==" | "!=" | "<" | "<=" | ">" | ">=", _) => call.args.as_slice(),
        _ => return,
    };
    let property = property_of(one, looked_at).or_else(|| property_of(other, looked_at));
    for text in texts {
        if let (Some(property), Expr::StringConstant(text, position)) = (property, text) {
            tell(Compared { property, text, by_order, position: *position });
        }
    }
}

/// The property that an expression reads of what is looked at.
fn property_of<'a>(expression: &'a Expr, looked_at: &str) -> Option<&'a str> {
    let Expr::Dot(dot, ..) = expression else { return None };
    match (&dot.lhs, &dot.rhs) {
        (Expr::Variable(variable, ..), Expr::Property(name, _)) if variable.1 == looked_at => Some(&name.2),
        _ => None,
    }
}

/// What is wrong with a day, and what to write; nothing where it is one, or no day is meant.
fn no_day(compared: &Compared<'_>, written: &str) -> Option<(String, String)> {
    let text = compared.text;
    match compared.property {
        // Months are in the right order too.
        "today" if compared.by_order && text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_digit()) => {
            None
        }
        "today" if text.parse::<MonthDay>().is_err() => Some((
            format!("{written} is a day such as \"09-05\", so that \"{text}\" says nothing of it"),
            "write the month and the day with two digits each".into(),
        )),
        "weekday" if !WEEKDAYS.contains(&text) => Some((
            format!("{written} is never \"{text}\""),
            format!("it is one of \"{}\"", WEEKDAYS.join("\", \"")),
        )),
        _ => None,
    }
}

/// What the texts of a property name, and all of these names that the farm has; nothing where it names nothing.
fn names<'a>(property: &str, view: &str, farm: &'a FarmSpec) -> Option<(&'static str, Vec<&'a str>)> {
    let operations = || farm.crops.iter().flat_map(|crop| crop.standing.iter().chain(&crop.following));
    Some(match (property, view) {
        ("operation", _) => ("operation", operations().map(|of| of.name.as_str()).collect()),
        ("crop", _) => ("crop", farm.crops.iter().map(|of| of.name.as_str()).collect()),
        ("work_class", _) => ("work class", farm.classes.iter().map(|of| of.name.as_str()).collect()),
        ("field", _) | ("name", "field") => {
            ("field", farm.fields.iter().map(|of| of.name.as_str()).collect())
        }
        ("soil", _) => ("soil", farm.soils()),
        ("outfits", _) => {
            let contractors = farm.contractors.iter().map(|of| of.name.as_str());
            ("outfit", farm.outfits.iter().map(|of| of.name.as_str()).chain(contractors).collect())
        }
        ("usual", _) => ("way", ["bale", "chop"].into_iter().chain(TILLAGE).collect()),
        _ => return None,
    })
}
