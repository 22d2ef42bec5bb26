//! On the page, a plan is saved, listed, opened, changed under another name, and struck.

use crate::support::folder::Folder;
use crate::support::served::{Reply, Served, number};

/// A name with characters that have a meaning in an address, a list of words or a page.
const ODD: &str = "a; \"b\" & <i> =1";
const PLAN: [(&str, &str); 6] = [
    ("paper", "bond 80"),
    ("thread", "linen 25"),
    ("leaves", "190"),
    ("sheets", "4"),
    ("target", "rounded"),
    ("boned", "yes"),
];

#[track_caller]
pub fn seen(served: &Served, path: &str) -> String {
    served.worked_out(path).body
}

/// The address of the first link that begins with `begins`.
#[track_caller]
pub fn link(page: &str, begins: &str) -> String {
    let found = page.split("href=\"").find(|rest| rest.starts_with(begins));
    let address = found.unwrap_or_else(|| panic!("no link to {begins} in {page}"));
    address.split('"').next().unwrap().replace("&#38;", "&")
}

#[track_caller]
fn save(served: &Served, at: usize, more: &[(&str, &str)]) -> Reply {
    let fields = [&PLAN[..], &[("do", "save")], more].concat();
    served.answer(&served.sends("/plan/way", &number(at), &fields))
}

#[test]
fn a_plan_is_saved_opened_and_changed_on_the_page() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    save(&served, 1, &[("save", ODD)]).is(303);
    assert_eq!(folder.read("plans.csv").lines().count(), 2, "{}", folder.read("plans.csv"));
    // Sending the same form again writes nothing more.
    save(&served, 1, &[("save", ODD)]).is(303);
    assert_eq!(folder.read("plans.csv").lines().count(), 2);
    let list = seen(&served, "/plan");
    assert!(list.contains("Plans you saved") && !list.contains("<i>"), "{list}");
    let open = seen(&served, &link(&list, "/plan/way?"));
    assert!(open.contains("value=\"190\"") && open.contains("Save the plan"), "{open}");
    assert!(seen(&served, &link(&list, "/part-way?")).contains("a; &#34;b&#34;"));
    // Another plan of this name is refused with advice, and then replaces the first.
    let other = [("save", ODD), ("sheets", "5")];
    let refused = save(&served, 2, &other).is(422).body;
    assert!(refused.contains("another plan has this name"), "{refused}");
    assert!(refused.contains("name=\"replace\"") && !refused.contains("--replace"), "{refused}");
    assert_eq!(folder.read("plans.csv").lines().count(), 2);
    save(&served, 3, &[&other[..], &[("replace", "yes")]].concat()).is(303);
    save(&served, 4, &[("save", "copy"), ("sheets", "6")]).is(303);
    let list = seen(&served, "/plan");
    assert!(
        list.contains("sections of 5 sheets") && list.contains("sections of 6 sheets"),
        "{list}"
    );
    assert!(!list.contains("sections of 4 sheets"), "{list}");
    let strike = link(&list, "/strike?kind=plan");
    assert!(served.get(&strike).is(200).body.contains("Strike plan copy?"));
    let fields = [("kind", "plan"), ("ids", "copy"), ("reason", "sewn")];
    served.answer(&served.sends("/strike", &number(5), &fields)).is(303);
    assert!(!seen(&served, "/plan").contains("sections of 6 sheets"));
    // A plan without a name is not saved.
    assert!(save(&served, 6, &[]).is(422).body.contains("give the plan a name"));
}

/// A name on the page never becomes a path: the page takes no plan from a file.
#[test]
fn a_page_reads_no_plan_from_a_file() {
    let folder = Folder::with_trial();
    folder
        .write("mixed.toml", "[[run]]\npaper='bond 80'\nthread='linen 25'\nsections=9\nsheets=4\n");
    let served = Served::open(&folder);
    seen(&served, "/plan/way?paper=bond%2080&thread=linen%2025&sections=3&sheets=4");
    let page = served.get("/plan/way?plan=mixed.toml");
    assert_eq!(page.status, 422, "{}", page.body);
    assert!(!page.body.contains("9 sections"));
}
