//! Every row of a shipped table says where it comes from and how far it can be trusted.

use super::{Problem, Repo};

const STATUSES: [&str; 3] = ["handbook", "common practice", "own"];

/// Finds rows of `data/*.csv` without a source or with a status that nobody knows.
pub fn check(repo: &Repo) -> Vec<Problem> {
    repo.under("data/", ".csv")
        .filter(|(path, _)| !path["data/".len()..].contains('/'))
        .flat_map(|(path, text)| table_problems(path, text))
        .collect()
}

fn table_problems(path: &str, text: &str) -> Vec<Problem> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => return vec![Problem::new(path, 1, error.to_string())],
    };
    let column = |name: &str| header.iter().position(|cell| cell == name);
    let (source, status) = (column("source"), column("status"));
    let mut problems = Vec::new();
    for record in reader.records() {
        let row = match record {
            Ok(row) => row,
            Err(error) => {
                let line = error.position().map_or(1, |at| at.line() as usize);
                problems.push(Problem::new(path, line, error.to_string()));
                continue;
            }
        };
        let line = row.position().map_or(1, |at| at.line() as usize);
        if source.is_some_and(|index| row[index].is_empty()) {
            problems.push(Problem::new(path, line, "the row has no source"));
        }
        if let Some(index) = status.filter(|index| !STATUSES.contains(&&row[*index])) {
            let message = format!(
                "status \"{}\" must be one of {}",
                &row[index],
                STATUSES.join(", ")
            );
            problems.push(Problem::new(path, line, message));
        }
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::{Repo, check};

    fn found(text: &str) -> Vec<String> {
        check(&Repo::of(&[("data/rates.csv", text)]))
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn rows_need_a_source_and_a_known_status() {
        let text = "rate,source,status\n# a remark\n\
                    0.9,\"Handbook, 2nd edition\",handbook\n0.8,,own\n0.7,Someone,guess\n0.6,x\n";
        let problems = found(text);
        assert_eq!(problems.len(), 3, "{problems:?}");
        assert_eq!(problems[0], "data/rates.csv:4: the row has no source");
        assert!(problems[1].starts_with("data/rates.csv:5: status \"guess\" must be one of"));
        assert!(problems[2].starts_with("data/rates.csv:6:"));
    }

    #[test]
    fn tables_without_these_columns_and_folders_below_pass() {
        assert!(found("a,b\n1,2\n").is_empty());
        let below = [("data/examples/lots.csv", "lot,source\nA,\n")];
        assert!(check(&Repo::of(&below)).is_empty());
    }
}
