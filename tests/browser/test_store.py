"""The tablet's own store when it is used by two windows, takes nothing more, was shut, or holds an evening past midnight."""

from tests.browser.laptop import ServedLaptop
from tests.browser.test_alone import Tablet
from tests.browser.test_codes_of_tablets import page  # noqa: F401 - a fixture: the modules alone


def test_two_windows_of_one_tablet_hold_into_one_list_without_a_hole(scene, window):  # noqa: F811
    one = ServedLaptop(here := scene("voting"))
    first = Tablet(window(worker=True, fresh=True), here, one)
    second = Tablet(first.page.context.new_page(), here, one)
    one.kill()
    for i in range(4):
        (first, second)[i % 2].note_alone("/note/left")
    held = first.held()
    assert [entry["seq"] for entry in held] == list(range(held[0]["seq"], held[0]["seq"] + 4)) and len(
        {entry["id"] for entry in held}
    ) == 4
    assert second.held() == held
    one.start()
    first.keep()
    assert first.held() == [] == second.held()
    second.go("/record")
    assert second.page.inner_text("main").count("Voter left without a ballot cast") >= 4


def test_taking_an_entry_out_while_the_other_window_holds_one_more_loses_neither(page):  # noqa: F811
    """The list is read and numbered inside one transaction."""
    held, settle = page.evaluate("""async () => {
        const { hold, setApart, held, settling, fresh } = await import('/outbox.js');
        const draft = (title) => ({ id: fresh(), salt: fresh(), kind: 'left', at: '', title, path: '/note/left', coarse: 900000, form: {} });
        const one = draft('one'), two = draft('two'), three = draft('three');
        await hold([one, two]);
        await Promise.all([setApart(one.id, 'out', 'one'), hold([three])]);
        return [(await held()).map(({ seq, title }) => [seq, title]), (await settling()).map(({ title }) => title)];
    }""")
    assert [title for _, title in held] == ["two", "three"] and settle == ["one"]
    assert held[1][0] - held[0][0] == 1


def test_a_store_that_was_refused_once_is_asked_again_by_the_next_deed(page):  # noqa: F811
    said = page.evaluate("""async () => {
        const real = IDBFactory.prototype.open;
        let times = 0;
        IDBFactory.prototype.open = function (...how) { if (!times++) throw new Error('not now'); return real.apply(this, how); };
        const { deed } = await import('/store.js?anew');
        const first = await deed(['saw'], 'readonly', (saw) => saw.count()).then(() => 'opened', (why) => why.message);
        const second = await deed(['saw'], 'readonly', (saw) => saw.count()).then(() => 'opened', (why) => why.message);
        IDBFactory.prototype.open = real;
        return [first, second, times];
    }""")
    assert said == ["not now", "opened", 2]


def test_a_store_that_the_browser_shut_is_opened_anew(page):  # noqa: F811
    said = page.evaluate("""async () => {
        const { open, deed } = await import('/store.js?shut');
        const db = await open();
        db.close();
        db.onclose();
        return deed(['saw'], 'readonly', (saw) => saw.count()).then((n) => typeof n, (why) => why.message);
    }""")
    assert said == "number"
