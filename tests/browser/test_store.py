"""The tablet's own store when two windows use it at once, when it was refused, and when the browser shut it: its modules alone."""

from tests.browser.test_codes_of_tablets import page  # noqa: F401 - a fixture: the modules alone


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
