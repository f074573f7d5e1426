//! Bad input: each case is a clear message with its bytes, or a result that is defined.

use super::*;

const FRAME: &str = "[[frames]]\npose = \"standing\"\n";

#[test]
fn an_unknown_joint_is_named_with_the_nearest() {
    complains(
        &format!("[pose.a]\nleft.kne.flexion = 3\n{FRAME}"),
        "no joint motion is called `kne.flexion`",
        "did you mean `knee.flexion`?",
        "flexion",
    );
}

#[test]
fn an_angle_must_be_a_number() {
    let number = "a number between -10000 and 10000";
    for (value, found) in [
        ("\"ninety\"", "string"),
        ("true", "boolean"),
        ("[90]", "array"),
        ("nan", "float"),
        ("inf", "float"),
        ("-inf", "float"),
        ("1e9", "float"),
        ("99999", "integer"),
    ] {
        let text = format!("[pose.a]\nbase = \"standing\"\nleft.knee.flexion = {value}\n{FRAME}");
        complains(&text, &format!("found {found} where {number} belongs"), "", value);
    }
}

#[test]
fn no_number_anywhere_may_be_nan_or_infinite() {
    for wrong in ["nan", "inf"] {
        for line in [
            format!("view = [{wrong}, 0]\n{FRAME}"),
            format!("crop = {{ site = \"left.knee\", radius = {wrong} }}\n{FRAME}"),
            format!("props = [{{ kind = \"step\", at = [0, 0], height = {wrong} }}]\n{FRAME}"),
            format!("{FRAME}arrow = [{{ site = \"left.knee\", length = {wrong} }}]"),
            format!("{FRAME}look = [{{ site = \"left.knee\", r = {wrong} }}]"),
            format!("{FRAME}set = {{ reach = [{{ limb = \"left.hand\", at = [{wrong}, 0, 0] }}] }}"),
        ] {
            let problems = Picture::parse(&line, &library()).expect_err(&line);
            assert!(problems.iter().any(|it| &line[it.span.clone()] == wrong), "{line}: {problems:?}");
        }
    }
}

#[test]
fn one_place_on_two_things_is_a_contradiction() {
    complains(
        "props = [{ kind = \"step\", at = [0, 0] }]\n[pose.a]\nrest = [\"left.heel on floor\", \"left.heel on step\"]\n\
         [[frames]]\npose = \"a\"",
        "in pose `a` `left.heel` rests on `floor` and on `step` at once",
        "keep one of the two in `rest`",
        "\"a\"",
    );
    // The floor and a wall can both be touched.
    let wall = "props = [{ kind = \"wall\", faces = \"north\", distance = 2 }]\n[pose.a]\nbase = \"standing\"\n\
                rest = [\"left.heel on floor\", \"left.heel on wall\"]\n[[frames]]\npose = \"a\"";
    assert!(Picture::parse(wall, &library()).is_ok());
}

#[test]
fn contacts_that_cannot_all_hold_are_told_by_name() {
    let lints = lints_of(
        "[pose.a]\nbase = \"standing\"\nlock = [\"lean\"]\n\
         rest = [\"both.heel on floor\", \"left.knee on floor\"]\n[[frames]]\npose = \"a\"",
    );
    let off: Vec<&str> = lints
        .iter()
        .filter_map(|it| if let Lint::OffSurface { site, .. } = it { Some(site.as_str()) } else { None })
        .collect();
    assert!(off.contains(&"left knee") && off.contains(&"left heel"), "{lints:?}");
}

#[test]
fn a_hand_goes_as_near_as_it_can_and_says_by_how_much_it_misses() {
    let text = format!("{FRAME}set = {{ reach = [{{ limb = \"left.hand\", at = [200, 10, 79] }}] }}");
    let frame = solve(&Picture::parse(&text, &library()).unwrap(), None).remove(0);
    let s = &frame.skeleton;
    let arm = s.origin(Bone::Hand(Side::Left)) - s.origin(Bone::UpperArm(Side::Left));
    assert!(arm.x() > 32.9 && arm.norm() < 33.2, "{arm:?}");
    let lints = frame.lints();
    let told = |it: &Lint| matches!(it, Lint::OutOfReach { limb, by, .. } if limb == "left hand" && *by > 150.0);
    assert!(lints.iter().any(told), "{lints:?}");
}

#[test]
fn a_view_is_a_word_or_two_numbers_and_any_of_them_draws() {
    complains(&format!("view = []\n{FRAME}"), "this list must hold 2 numbers", "", "[]");
    complains(&format!("view = [1, 2, 3]\n{FRAME}"), "this list must hold 2 numbers", "", "[1, 2, 3]");
    for view in ["[0, 0]", "[0, 90]", "[0, -90]", "[720, 45]", "[-9999, 9999]"] {
        let svg = &drawn(&format!("view = {view}\n{FRAME}"), Look::Color)[0];
        assert!(svg.width > 5.0 && svg.height > 5.0 && !svg.text.contains("NaN"), "{view}");
    }
}

#[test]
fn a_close_up_of_no_size_is_refused() {
    for radius in ["0", "-3", "101"] {
        let text = format!("crop = {{ site = \"left.knee\", radius = {radius} }}\n{FRAME}");
        let message = format!("a close-up reaches 4 to 100 percent of stature, not {radius}");
        complains(&text, &message, "leave it out for the usual 27", radius);
    }
}

#[test]
fn one_frame_or_twelve() {
    complains("view = \"left\"", "a picture needs at least one frame", "add `[[frames]]`", "view = \"left\"");
    for n in [1, 12] {
        let text = format!("{FRAME}arrow = [{{ site = \"left.knee\", to = 1 }}]\n").repeat(n);
        let all = drawn(&text, Look::Color);
        assert_eq!(all.len(), n);
        assert!(all.iter().all(|it| it.height == all[0].height && it.floor == all[0].floor));
    }
    let (text, help) = (format!("{FRAME}arrow = [{{ site = \"left.knee\" }}]"), "add `to` with the number of a frame");
    complains(&text, "an arrow of the last frame leads nowhere: no frame follows", help, "[[frames]]");
    let text = format!("{FRAME}ghost = 2");
    complains(&text, "there is no frame 2; there are 1", "", "[[frames]]");
}
