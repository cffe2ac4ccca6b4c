"""Where the pages are, for journeys that go through all of them."""

from pages_built import PAGES

SIZE_NAMES = ("phone", "tablet", "desktop")


def places(visit, unit):
    """Each page by a name, with the demo's visit and unit."""
    return {
        "today": "/", "start": "/start", "chosen": f"/start/{unit}", "units": "/units",
        "new unit": "/unit/new", "unit": f"/unit/{unit}",
        "edit": f"/unit/{unit}/edit", "next": f"/visit/{visit}/next",
        "readings": f"/visit/{visit}/readings", "ledger": f"/visit/{visit}/ledger",
        "heating": f"/visit/{visit}/heating", "causes": f"/visit/{visit}/causes",
        "finish": f"/visit/{visit}/finish", "history": f"/history/{unit}", "season": f"/season/{unit}",
        "shop": "/shop", "instruments": "/instruments",
        "settings": "/settings", "waiting": "/waiting", "sign-in": "/sign-in", "lost": "/nowhere",
    }  # fmt: skip


def axe_faults(page):
    """What axe finds serious or critical on the page as it stands."""
    page.evaluate((PAGES.FRONTEND / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")["violations"]
    return [
        (row["id"], row["nodes"][0]["html"][:140])
        for row in found
        if row["impact"] in ("serious", "critical")
    ]
