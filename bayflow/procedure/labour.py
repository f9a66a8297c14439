"""How long a step takes on this body: files state minutes on a medium car, a larger body takes longer."""

from bayflow.procedure.draft import Draft
from bayflow.procedure.shelf import Body
from bayflow.procedure.words_of_trade import GROWING, SAME_ON_ANY


def labour_of(body: Body, draft: Draft) -> int:
    """
    Labour of *draft* in milliseconds: the minutes of the file times the body's size (per mille) at that place.

    What is no work on the surface (papers, readings, mixing), glass, lamps and engine take as long on any body.
    """
    size, scale = dict(body.size), _scale(draft)
    share = size.get(scale, size.get("panel", 1000) if scale == "wet-panel" else 1000)
    return max(1, (draft.step.labour * share + 500) // 1000) if draft.step.labour else 0


def _scale(draft: Draft) -> str:
    step = draft.step
    traits = set(step.traits)
    if step.on_any_body or draft.part.where == "engine bay" or not traits & GROWING or traits & SAME_ON_ANY:
        return ""
    if step.each == "panel":
        return "wet-panel" if draft.part.panel_by_panel else "panel"
    if step.each != "car":
        return "wheels" if step.each == "corner" else "paint"
    if draft.part.where == "cabin" or "interior" in traits:
        return "cabin"
    return "wheels" if "wheels" in traits else "paint"
