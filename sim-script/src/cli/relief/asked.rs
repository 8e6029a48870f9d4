//! For which operation relief is asked.

use super::name;
use crate::cli::Failure;
use crate::words::nearest;
use sim_core::farm::Farm;
use sim_core::study::relief::RankBy;

/// The whole farm, or the operation of a name such as "drilling, spring barley".
pub(super) fn measure(farm: &Farm, asked: Option<&str>) -> Result<RankBy, Failure> {
    let Some(asked) = asked else { return Ok(RankBy::LateOperations) };
    let plain =
        |text: &str| text.split(',').map(|part| part.trim().to_lowercase()).collect::<Vec<_>>().join(", ");
    let worked = |row: &usize| farm.rows[*row].area_ha > 0.0;
    let names: Vec<(usize, String)> =
        (0..farm.rows.len()).filter(worked).map(|row| (row, name(farm, row))).collect();
    if let Some((row, _)) = names.iter().find(|(_, name)| plain(name) == plain(asked)) {
        return Ok(RankBy::Row(*row));
    }
    let all = || names.iter().map(|(_, name)| name.as_str());
    let help = match nearest(asked, all()) {
        Some(near) => format!("Did you mean --for \"{near}\"?"),
        None => {
            let list: Vec<String> = all().map(|name| format!("\"{name}\"")).collect();
            format!("Write the operation, a comma, and the crop. There are {}.", list.join("; "))
        }
    };
    Err(Failure::Request(format!("--for \"{asked}\": the farm has no such operation\n{help}")))
}
