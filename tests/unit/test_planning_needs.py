"""What a class uses up: pieces carried on, waste, the cupboard, and what is counted."""

from __future__ import annotations

import pytest

from builder.planning.needs import StockError, list_counted, list_needs, read_stock
from tests.helpers import complete, make_library

COURSE = """
# file: lessons/course.yml
class_size: 6
# file: kb/citations.yml
sheet: {}
# file: kb/materials.yml
wool:
  waste: 20 %
  packs: [{amount: 100 g, price: 5 EUR}, {amount: 1 kg, price: 40 EUR}]
# file: kb/tools.yml
gloves: {used_up: true, packs: [{count: 10, price: 2 EUR}, {count: 4, price: 1 EUR}]}
tape: {used_up: true}
# file: lessons/winding.yml
materials: [{material: wool, amount: 100 g}]
tools: [{tool: gloves}, {tool: tape, per: class}]
# file: lessons/dyeing.yml
materials: [{material: wool, amount: 100 g, from_lesson: winding}]
tools: [{tool: gloves}, {tool: tape, per: class}]
# file: lessons/classes/autumn.yml
students: 6
sessions:
  - {date: 2030-09-02, start: "18:30", length: 2 h, lessons: [winding]}
  - {date: 2030-09-09, start: "18:30", length: 2 h, lessons: [dyeing]}
"""


def make():  # type: ignore[no-untyped-def]
    library, findings = make_library(complete(COURSE.lstrip()))
    assert not findings
    return library, library.classes["autumn"]


def test_a_piece_carried_on_is_bought_once_and_waste_on_top() -> None:
    """Six skeins of 100 g, of which a fifth is lost: 750 g, and not twice that."""
    library, planned = make()
    (wool,) = list_needs(library, planned)
    assert wool.amount.base == pytest.approx(0.750)
    assert [(count, size.base) for count, size in wool.packs] == [(1, 1.0)], (
        "8 x 5 EUR is no cheaper"
    )


def test_what_is_in_the_cupboard_is_not_bought() -> None:
    library, planned = make()
    stock = read_stock(library, b"material,amount\nwool,600 g\n", "stock.csv")
    (wool,) = list_needs(library, planned, stock)
    assert wool.stock is not None
    assert wool.stock.base == pytest.approx(0.6)
    assert [(count, size.base) for count, size in wool.packs] == [(2, 0.1)]
    full = read_stock(library, b"material,amount\nwool,2 kg\n", "stock.csv")
    (wool,) = list_needs(library, planned, full)
    assert wool.packs == ()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (b"silk,1 kg", 'no material "silk"'),
        (b"wool,much", "line 2"),
        (b"wool,2 h", "no mass and no volume"),
    ],
)
def test_a_wrong_cupboard_is_said_plainly(row: bytes, said: str) -> None:
    library, _ = make()
    with pytest.raises(StockError, match=said):
        read_stock(library, b"material,amount\n" + row, "stock.csv")


def test_what_is_used_up_is_counted_for_each_session() -> None:
    """Twelve pairs of gloves: ten and four at 3 EUR; one roll of tape for all."""
    library, planned = make()
    gloves, tape = sorted(list_counted(library, planned), key=lambda need: need.tool.id)
    assert gloves.count == 12
    assert gloves.packs == ((1, 10), (1, 4)) or sum(n * s for n, s in gloves.packs) >= 12
    assert gloves.price is not None
    assert gloves.price.base == pytest.approx(3)
    assert tape.count == 1
    assert tape.price is None
