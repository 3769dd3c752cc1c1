"""The record of a proof as a page, to be printed and signed."""

from pathlib import Path

from rillkeeper.board.proof import record_page
from rillkeeper.board.proof.records import Proof
from rillkeeper.pages import template


def write(proofs: list[Proof], path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(proofs), path)


def html_of(proofs: list[Proof]) -> str:
    """The page as text; a table a round, each to be signed."""
    return template.render(
        "proof",
        title=f"Proof of board {proofs[0].board}",
        heading="Proof of the protections",
        summary=record_page.summary(*proofs),
        never=record_page.never(proofs),
        heads=record_page.HEADS,
        rounds=[_round(proof) for proof in proofs],
    )


def _round(proof: Proof) -> dict[str, object]:
    rows = record_page.rows_of(proof)
    return {
        "headline": record_page.headline(proof),
        "numbers": record_page.numbers_of(proof),
        "rows": [record_page.cells_of(one) for one in rows],
        "kinds": [one.result.replace(" ", "-") for one in rows],
    }
