//! The reference cases against the libraries they were made with: computed again, they are the same.
#![cfg(test)]
#![cfg(unix)]

#[expect(dead_code, reason = "only the script runner is used here")]
mod common;
#[path = "common/python.rs"]
mod python;

#[test]
fn floor_and_light_cases_are_those_of_numpy_and_scipy() {
    let checked = python::script("../reference/floor_with_numpy.py", &["--check"]);
    let told = String::from_utf8_lossy(&checked.stdout);
    let trouble = String::from_utf8_lossy(&checked.stderr);
    assert!(checked.status.success(), "{told}{trouble}");
    assert_eq!(told.trim(), "0 differences");
}

#[test]
fn sun_and_placement_cases_are_those_of_pvlib_and_shapely() {
    let checked = python::script("../reference/check_kept_cases.py", &[]);
    let told = String::from_utf8_lossy(&checked.stdout);
    let trouble = String::from_utf8_lossy(&checked.stderr);
    assert!(checked.status.success(), "{told}{trouble}");
    assert_eq!(told.trim(), "0 differences");
}
