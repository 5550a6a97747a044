"""The opening's seals in a browser: a row for each seal that is on, the new number asked only where one is cut, the next of the list at one tap."""

SHOWN = "input.write:visible"


def test_a_row_for_each_seal_and_a_field_for_the_new_one_where_it_is_cut(scene, window):
    here = scene("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/case-seals")
    put = page.locator("form").last
    new = put.locator("input[name*='new.']")
    assert new.count() == 7 + 4, "seven seals are on; doors that carry none lie in the fold"
    assert put.locator("input[name*='new.']:visible").count() == 0
    assert put.locator("input.write[name]:visible:not(.pin)").count() == 9, (
        "seven seals and two serial numbers are read"
    )

    for door in ("main bin", "ballot box door under T1", "ballot box door under T2"):
        for box in put.locator("label.choice", has_text=door).all():
            box.click()
    assert put.locator("input[name*='new.']:visible").count() == 2
    for key in put.locator("[data-key=next]:visible").all():
        key.click()
    assert [field.input_value() for field in put.locator("input[name*='new.']:visible").all()] == ["0412", "0413"]
