//! Which closures are plain: made of properties, constants, comparisons, sums and conditions whose kinds are known before
//! they run. Rhai can work their operators without looking them up. That would let through what the engine of scripts
//! refuses (a text compared with a number, 6/4), so a closure in which such a thing cannot be ruled out is not plain.

use super::property::property;
use crate::script::verb::Gives;
use rhai::{AST, ASTNode, Expr, FnCallExpr, Stmt};

/// What kind of value an expression has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Number,
    Text,
    Flag,
}

/// Methods of numbers that give numbers.
const OF_NUMBERS: [&str; 5] = ["floor", "ceiling", "round", "abs", "int"];

/// Whether the body of a closure that is given `looked_at` is plain.
pub(super) fn is_plain(body: &AST, looked_at: &str) -> bool {
    let mut plain = true;
    body.walk(&mut |path: &[ASTNode<'_>]| {
        plain &= match path.last() {
            Some(ASTNode::Stmt(statement)) => matches!(
                statement,
                Stmt::Expr(_) | Stmt::FnCall(..) | Stmt::If(..) | Stmt::Block(_) | Stmt::Noop(_)
            ),
            Some(ASTNode::Expr(expression)) => is_plain_here(expression, looked_at),
            _ => true,
        };
        plain
    });
    // A call that stands as a statement is no expression of its own to the walk.
    plain
        && body.statements().iter().all(|statement| match statement {
            Stmt::FnCall(call, _) => operator(call, looked_at).is_some(),
            _ => true,
        })
}

/// Whether an expression is plain, what it is made of apart.
fn is_plain_here(expression: &Expr, looked_at: &str) -> bool {
    match expression {
        Expr::Property(..) | Expr::And(..) | Expr::Or(..) | Expr::Stmt(_) | Expr::Unit(_) => true,
        Expr::Variable(variable, ..) => variable.2.is_empty() && variable.1 == looked_at,
        Expr::MethodCall(call, _) => OF_NUMBERS.contains(&call.name.as_str()) && call.args.is_empty(),
        // A dot within a dot is looked at from the outer one.
        Expr::Dot(dot, ..) => {
            matches!(dot.lhs, Expr::Property(..)) || kind_of(expression, looked_at).is_some()
        }
        other => kind_of(other, looked_at).is_some(),
    }
}

/// The kind of an expression's value, where it can only be one.
fn kind_of(expression: &Expr, looked_at: &str) -> Option<Kind> {
    match expression {
        Expr::IntegerConstant(..) | Expr::FloatConstant(..) => Some(Kind::Number),
        Expr::StringConstant(..) => Some(Kind::Text),
        Expr::BoolConstant(..) | Expr::And(..) | Expr::Or(..) => Some(Kind::Flag),
        Expr::FnCall(call, _) => operator(call, looked_at),
        Expr::Dot(dot, ..) => match (&dot.lhs, &dot.rhs) {
            (Expr::Variable(..), Expr::Property(name, _)) => kind_of_property(&name.2),
            (Expr::Variable(..), Expr::Dot(inner, ..)) => match (&inner.lhs, &inner.rhs) {
                (Expr::Property(name, _), Expr::MethodCall(call, _)) => {
                    let number = kind_of_property(&name.2) == Some(Kind::Number);
                    (number && OF_NUMBERS.contains(&call.name.as_str())).then_some(Kind::Number)
                }
                _ => None,
            },
            _ => None,
        },
        // Both ways of a condition in brackets are of one kind.
        Expr::Stmt(block) => match block.statements() {
            [Stmt::Expr(inner)] => kind_of(inner, looked_at),
            [Stmt::If(flow, _)] => {
                let way = |block: &rhai::StmtBlock| match block.statements() {
                    [Stmt::Expr(inner)] => kind_of(inner, looked_at),
                    [Stmt::FnCall(call, _)] => operator(call, looked_at),
                    _ => None,
                };
                let (yes, no) = (way(&flow.body), way(&flow.branch));
                if yes == no { yes } else { None }
            }
            _ => None,
        },
        _ => None,
    }
}

fn kind_of_property(name: &str) -> Option<Kind> {
    match property(name)?.gives {
        Gives::Number | Gives::Whole => Some(Kind::Number),
        Gives::Text => Some(Kind::Text),
        Gives::Flag => Some(Kind::Flag),
        _ => None,
    }
}

/// The kind that an operator gives for what stands around it, if its working is the same without being looked up.
fn operator(call: &FnCallExpr, looked_at: &str) -> Option<Kind> {
    call.op_token.as_ref()?;
    let kinds: Vec<Kind> = call.args.iter().map(|arg| kind_of(arg, looked_at)).collect::<Option<_>>()?;
    match (call.name.as_str(), kinds.as_slice()) {
        ("==" | "!=" | "<" | "<=" | ">" | ">=", [one, other]) if one == other => Some(Kind::Flag),
        ("+" | "-" | "*", [Kind::Number, Kind::Number]) | ("-", [Kind::Number]) => Some(Kind::Number),
        ("!", [Kind::Flag]) => Some(Kind::Flag),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rhai::{Engine, Scope};

    fn plain(body: &str) -> bool {
        let mut scope = Scope::new();
        scope.push("job", 1).push("captured", 2);
        let mut engine = Engine::new();
        engine.set_optimization_level(rhai::OptimizationLevel::None);
        is_plain(&engine.compile_with_scope(&scope, body).unwrap(), "job")
    }

    #[test]
    fn plain_closures_are_known() {
        for body in [
            "false",
            "job.days_in_hand",
            "job.days_in_hand < 3",
            "job.operation == \"ploughing\" && job.today < \"09-15\"",
            "!job.only_if_behind || job.days_in_hand < 0.0",
            "(if job.gives_way { 1e6 } else { 0.0 }) + job.days_in_hand.floor() * 10.0 + job.p_today",
            "if job.least_days_in_hand < 0.0 { 24.0 } else { 0.0 }",
            "-job.days_in_hand - 2",
            "if job.usual == \"bale\" { \"chop\" } else { job.usual }",
        ] {
            assert!(plain(body), "{body}");
        }
    }

    /// Whatever could hide a comparison of unlike things, or a division, is not plain.
    #[test]
    fn what_could_go_wrong_without_a_word_is_not_plain() {
        for body in [
            "job.today < 5",
            "job.operation == job.area_ha",
            "job.area_ha / 4 > 1",
            "captured < 3",
            "let n = 1; n < 2",
            "job.days_in_hand < wait(job)",
            "job.memory.n == \"x\"",
            "job.memory.n < 3",
            "\"a\" in job.outfits",
            "job.suits_today(\"drilling\")",
            "job.operation + 1 == 2",
            "`${job.today < 5}` == \"true\"",
            "job.started == \"yes\"",
            "(if job.started { 1 } else { \"x\" }) == 1",
            "job.operation.len() == 3",
            "[1, 2][0] == 1",
            "while true { }",
            "job.x == 1",
            "kit::wait(job)",
            "return job.today < 5",
            "if job.started { job.today < 5 } else { false }",
            "{ job.today < 5 }",
            "job.area_ha % 2 == 1",
            "job.area_ha ** 2 == 1",
            "wait(job)",
            "job.wait()",
        ] {
            assert!(!plain(body), "{body}");
        }
    }
}
