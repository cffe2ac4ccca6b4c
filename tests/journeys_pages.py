"""Where the pages are, for journeys that go through all of them."""

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
