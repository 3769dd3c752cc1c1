"""The record of a proof as a page, to be printed and signed."""

from pathlib import Path

from rillkeeper.board.proof import record_page
from rillkeeper.board.proof.records import Proof
from rillkeeper.pages import template


def write(proof: Proof, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(proof), path)


def html_of(proof: Proof) -> str:
    """The page as text."""
    rows = record_page.rows_of(proof)
    return template.render(
        "proof",
        title=f"Proof of board {proof.board}",
        heading="Proof of the protections",
        headline=record_page.headline(proof),
        numbers=record_page.numbers_of(proof),
        summary=record_page.summary(proof),
        heads=record_page.HEADS,
        rows=[record_page.cells_of(one) for one in rows],
        kinds=[one.result.replace(" ", "-") for one in rows],
    )
