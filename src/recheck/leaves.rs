//! Two JSON files, leaf by leaf.

use serde_json::Value;

use super::report::Difference;

/// Differences that are collected; a file that shares nothing with the other has no more to tell.
const DIFFERENCES_MAX: usize = 1_000;

/// How many leaves the computed file has, and what differs.
pub(super) fn compare(computed: &[u8], found: &[u8]) -> (usize, Vec<Difference>) {
    let unreadable = |which: &str, found: &str| (0, vec![Difference::new(which, "JSON", found)]);
    let computed: Value = match serde_json::from_slice(computed) {
        Ok(value) => value,
        Err(error) => return unreadable("what was computed", &error.to_string()),
    };
    let found: Value = match serde_json::from_slice(found) {
        Ok(value) => value,
        Err(error) => return unreadable("result.json", &error.to_string()),
    };
    let mut walk = Walk { count: 0, differences: Vec::new() };
    walk.compare(&mut String::new(), Some(&computed), Some(&found));
    (walk.count, walk.differences)
}

struct Walk {
    count: usize,
    differences: Vec<Difference>,
}

impl Walk {
    /// Recursion is bounded by that of the JSON reader.
    fn compare(&mut self, path: &mut String, computed: Option<&Value>, found: Option<&Value>) {
        if self.differences.len() >= DIFFERENCES_MAX {
            return;
        }
        match (computed, found) {
            (Some(Value::Object(a)), Some(Value::Object(b))) => {
                let further = b.keys().filter(|key| !a.contains_key(*key));
                for key in a.keys().chain(further) {
                    let length = path.len();
                    if !path.is_empty() {
                        path.push('.');
                    }
                    path.push_str(key);
                    self.compare(path, a.get(key), b.get(key));
                    path.truncate(length);
                }
            }
            (Some(Value::Array(a)), Some(Value::Array(b))) => {
                for place in 0..a.len().max(b.len()) {
                    let length = path.len();
                    path.push_str(&format!("[{place}]"));
                    self.compare(path, a.get(place), b.get(place));
                    path.truncate(length);
                }
            }
            (a, b) => {
                self.count += 1;
                if !same(a, b) {
                    let difference = Difference::new(path.clone(), &words(a), &words(b));
                    self.differences.push(difference);
                }
            }
        }
    }
}

/// Numbers by their value, all else as it is. Two numbers that are read from digits and differ in the
/// last of them differ in value, since digits are read to the nearest double and written back exactly.
fn same(a: Option<&Value>, b: Option<&Value>) -> bool {
    match (a, b) {
        (Some(Value::Number(a)), Some(Value::Number(b))) => a.to_string() == b.to_string(),
        (a, b) => a == b,
    }
}

fn words(value: Option<&Value>) -> String {
    match value {
        None => "nothing".to_owned(),
        Some(Value::Object(_)) => "an object".to_owned(),
        Some(Value::Array(list)) => format!("a list of {}", list.len()),
        Some(Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
    }
}

/// The paths of every text leaf, for naming a number that stands on a page.
pub(super) fn texts(json: &[u8]) -> Vec<(String, String)> {
    let Ok(value) = serde_json::from_slice::<Value>(json) else { return Vec::new() };
    let mut found = Vec::new();
    collect(&value, &mut String::new(), &mut found);
    found
}

fn collect(value: &Value, path: &mut String, found: &mut Vec<(String, String)>) {
    let length = path.len();
    match value {
        Value::Object(entries) => {
            for (key, value) in entries {
                if !path.is_empty() {
                    path.push('.');
                }
                path.push_str(key);
                collect(value, path, found);
                path.truncate(length);
            }
        }
        Value::Array(items) => {
            for (place, value) in items.iter().enumerate() {
                path.push_str(&format!("[{place}]"));
                collect(value, path, found);
                path.truncate(length);
            }
        }
        Value::String(text) => found.push((path.clone(), text.clone())),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digit_a_missing_leaf_and_one_too_many_are_named() {
        let computed = br#"{"a": {"b": [1.5, 2]}, "c": "x", "d": 1}"#;
        let found = br#"{"a": {"b": [1.5000000000000002, 2, 3]}, "c": "x"}"#;
        let (count, differences) = compare(computed, found);
        assert_eq!(count, 5);
        let paths: Vec<&str> = differences.iter().map(|d| d.path.as_str()).collect();
        assert_eq!(paths, ["a.b[0]", "a.b[2]", "d"]);
        assert_eq!(compare(computed, computed).1, []);
        assert_eq!(compare(computed, b"nonsense").1.len(), 1);
    }
}
