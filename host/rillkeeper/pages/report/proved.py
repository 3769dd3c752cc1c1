"""The last proof of the protections, as a short section of the page."""

from html import escape

from rillkeeper.board.proof.record_page import headline, line_of, not_passed, numbers_of, summary
from rillkeeper.board.proof.records import Proof
from rillkeeper.pages import frame


def proved(proof: Proof | None) -> str:
    """When and on what, how many rules came through, and which did not; nothing without one."""
    if proof is None:
        return ""
    first = headline(proof)
    parts = [
        frame.paragraph(f"{first[0].upper()}{first[1:]}; {numbers_of(proof)}."),
        frame.paragraph(f"{summary(proof)}."),
    ]
    rest = "".join(f"<li>{escape(line_of(outcome))}</li>" for outcome in not_passed(proof))
    parts.append(f"<ul>{rest}</ul>" if rest else "")
    return frame.section("The last proof of the protections", *parts, kind="keep")
