//! A plan that goes from page to page stays the same plan: its bounds, its leaves and its target.

use super::late_forms::hidden;
use super::saved_plans::{link, seen};
use crate::support::folder::{Folder, trial};
use crate::support::served::{Served, number};

const WAY: &str = "/plan/way?paper=bond+80&thread=linen+25&sheets=4&on=1";

fn served() -> (Folder, Served) {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    (folder, served)
}

/// What a list of this name has selected, and the browser sends: the first option if none is.
fn selected(page: &str, name: &str) -> String {
    let list = page.split(&format!("<select id=\"{name}\"")).nth(1).expect("a list");
    let list = list.split("</select>").next().expect("its end");
    let mut options = list.split("<option value=\"").skip(1);
    let first = options.clone().next().expect("an option");
    let one = options.find(|option| option.contains("\" selected>")).unwrap_or(first);
    one.split('"').next().expect("its value").to_owned()
}

/// The value of a typed field.
fn typed(page: &str, name: &str) -> String {
    let field = page.split(&format!("<input id=\"{name}\"")).nth(1).expect("a field");
    let field = field.split('>').next().expect("its end");
    let value = field.split(" value=\"").nth(1).unwrap_or("\"");
    value.split('"').next().expect("its end").to_owned()
}

#[test]
fn bounds_of_ones_own_stay_those_of_the_plan_on_every_page() {
    let (_folder, served) = served();
    let list = seen(&served, "/plan?paper=bond+80&leaves=160&low=12,5&high=22,5&target=rounded");
    let is_shown = |page: &str| {
        assert_eq!(selected(page, "target"), "", "{page}");
        assert_eq!([typed(page, "low"), typed(page, "high")], ["12,5", "22,5"], "{page}");
    };
    is_shown(&list);
    let way = seen(&served, &link(&list, "/plan/way?"));
    is_shown(&way);
    is_shown(&seen(&served, &link(&way, "/part-way?")));
    // A kept forecast, opened again.
    let plan = [("paper", "bond 80"), ("thread", "linen 25"), ("sections", "20"), ("sheets", "4")];
    let figures = hidden(&seen(&served, &format!("{WAY}&sections=20&target=12.5..22.5")), "seen");
    let own = [("target", "12.5..22.5"), ("keep", "ledger"), ("seen", &*figures)];
    let keep = [&plan[..], &own].concat();
    served.answer(&served.sends("/plan/way", &number(1), &keep)).is(303);
    let way = seen(&served, &link(&seen(&served, "/plan"), "/plan/way?"));
    assert_eq!([typed(&way, "low"), typed(&way, "high")], ["12.5", "22.5"], "{way}");
}

#[test]
fn the_owner_who_is_not_named_is_offered_beside_another_hand() {
    let folder = Folder::with_trial();
    folder.measure("T1", "knocked", "10.4,10.5", "8.0,8.1");
    folder.run(&[&trial("T2")[..], &["--hand", "Ben"]].concat()).ends(0);
    folder.measure("T2", "knocked", "11.4,11.5", "8.0,8.1");
    let book = ["--sections", "20", "--sheets", "4", "--paper", "bond 80", "--thread", "linen 25"];
    let own = ["--target=10..30", "--hand", "", "--save", "ledger"];
    folder.run(&[&["predict"], &book[..], &own].concat()).ends(0);
    let served = Served::open(&folder);
    let asked = seen(&served, "/plan");
    assert!(asked.contains("the hand of the trials without a name"), "{asked}");
    // The saved plan opens with its hand, on every page.
    let way = seen(&served, &link(&asked, "/plan/way?"));
    let is_owner = |page: &str| assert_eq!(selected(page, "hand"), "&#39;&#39;", "{page}");
    is_owner(&way);
    is_owner(&seen(&served, &link(&way, "/part-way?")));
    let figures = hidden(&way, "seen");
    let ben = seen(&served, &format!("{WAY}&sections=20&target=10..30&hand=Ben"));
    assert_ne!(hidden(&ben, "seen"), figures);
    // It is kept with its hand, from the page as on the command line.
    let plan = [("paper", "bond 80"), ("thread", "linen 25"), ("sections", "20"), ("sheets", "4")];
    let own = [("target", "10..30"), ("hand", "''"), ("keep", "B1"), ("seen", &*figures)];
    served.answer(&served.sends("/plan/way", &number(1), &[&plan[..], &own].concat())).is(303);
    folder.run(&["predict", "--plan", "ledger", "--keep", "B2"]).ends(0);
    let kept = folder.read("forecasts.csv");
    let figures_of = |name: &str| {
        let row = kept.lines().find(|row| row.starts_with(name)).expect("a forecast");
        row.split_once(',').expect("its figures").1.to_owned()
    };
    assert!(kept.contains("state=knocked; hand=; paper="), "{kept}");
    assert_eq!(figures_of("B1"), figures_of("B2"));
    let card = seen(&served, &link(&seen(&served, "/plan/kept?name=B1"), "/plan/card?"));
    assert!(card.contains("the hand of the trials without a name"), "{card}");
    let part = seen(&served, "/part-way?plan=B1&sewn=8&measured=sewn&spine-1=8.3&fore-edge-1=6.4");
    assert!(!part.contains("a hand new to the book"), "{part}");
    let again = folder.run(&["predict", "--plan", "B1"]).ends(0).err;
    assert!(!again.contains("a hand new to the book"), "{again}");
    // A plan of a hand that left can be given another, or none.
    folder.run(&["strike", "trial", "T2", "--reason", "left"]).ends(0);
    let left = served.get(&format!("{WAY}&sections=20&hand=Ben")).is(422).body;
    assert_eq!(selected(&left, "hand"), "Ben", "{left}");
    assert!(left.contains("<option value=\"\">not given</option>"), "{left}");
}

#[test]
fn one_bound_without_the_other_is_asked_for_at_its_field() {
    let (_folder, served) = served();
    seen(&served, &format!("{WAY}&sections=20"));
    for page in ["/plan?paper=bond+80&leaves=160", &format!("{WAY}&sections=20")] {
        for (given, empty) in [("low", "high"), ("high", "low")] {
            let body = served.get(&format!("{page}&{given}=12")).is(422).body;
            let says = format!("id=\"{empty}-error\">please fill this in");
            assert!(body.contains(&says), "no {empty} in {body}");
        }
    }
}

#[test]
fn a_fore_edge_on_the_page_counts_only_for_the_leaves_it_was_measured_on() {
    let (_folder, served) = served();
    let first = seen(&served, &format!("{WAY}&sections=20&fore-edge=22"));
    let on = hidden(&first, "measured-on").replace("; ", "%3B+").replace(' ', "+");
    let (used, not_used) = ("(as measured)", "the fore-edge is not used");
    for (change, is_used) in [
        ("sections=20&fore-edge=22", true),
        ("leaves=160&fore-edge=22", true),
        ("sections=24&fore-edge=26", true),
        ("sections=24&fore-edge=22", false),
    ] {
        let page = seen(&served, &format!("{WAY}&{change}&measured-on={on}"));
        assert_eq!((page.contains(used), page.contains(not_used)), (is_used, !is_used), "{change}");
        // What is kept and printed is the same.
        let card = link(&page, "/plan/card?");
        assert_eq!(card.contains("fore-edge="), is_used, "{card}");
    }
}

#[test]
fn a_plan_is_asked_about_part_way_as_it_was_opened() {
    let (folder, served) = served();
    let kept = ["--sections", "20", "--sheets", "4", "--paper", "bond 80", "--thread", "linen 25"];
    folder.run(&[&["predict"][..], &kept, &["--keep", "ledger"]].concat()).ends(0);
    // Without a target, and of leaves.
    let way = seen(&served, &format!("{WAY}&leaves=160&target="));
    let part = seen(&served, &link(&way, "/part-way?"));
    let of = (typed(&part, "sections"), selected(&part, "target"), selected(&part, "plan"));
    assert_eq!(of, ("20".to_owned(), String::new(), String::new()), "{part}");
    // An empty form offers what is usual.
    let part = seen(&served, "/part-way");
    assert!(selected(&part, "plan").starts_with("ledger"), "{part}");
    assert_eq!(selected(&part, "target"), "exposed-link");
    // A plan that was struck is not replaced by another one.
    let part = seen(&served, "/part-way?plan=%3Dgone");
    assert_eq!(selected(&part, "plan"), "=gone");
    assert!(part.contains("this plan is not in the book any more"), "{part}");
}

#[test]
fn a_wrong_reading_of_a_part_is_refused_at_its_own_field() {
    let (_folder, served) = served();
    seen(&served, "/part-way");
    let plan = "/part-way?paper=bond+80&thread=linen+25&sheets=4&sections=20&sewn=8";
    let body = served.get(&format!("{plan}&spine-1=9.6&spine-2=9,5y&fore-edge-1=6.9")).is(422).body;
    assert!(
        body.contains("id=\"spine-2-error\"") && !body.contains("id=\"spine-1-error\""),
        "{body}"
    );
    let nothing = plan.replace("&sections=20", "");
    let body = served.get(&format!("{nothing}&spine-1=9.6&fore-edge-1=6.9")).is(422).body;
    assert!(body.contains("id=\"sections-error\">fill in the sections"), "{body}");
}

/// An answer to a change of the controls renews only what is above them.
#[test]
fn a_fault_of_a_way_names_its_field_and_leads_nowhere() {
    let (_folder, served) = served();
    seen(&served, &format!("{WAY}&sections=20"));
    for (fields, says) in [
        ("", "Sections: fill in the sections"),
        ("&sections=20&ends=x", "Sections at each end sewn all along: "),
        ("&leaves=160&pages=300", "Leaves: this does not go together with another field"),
    ] {
        let body = served.get(&format!("{WAY}{fields}")).is(422).says(says).body;
        assert!(!body.contains("/plan/card?") && !body.contains("/part-way?"), "{body}");
        let card = served.get(&format!("/plan/card?{}{fields}", &WAY["/plan/way?".len()..]));
        assert!(card.status == 422 && !card.body.contains("--"), "{}", card.body);
    }
}
