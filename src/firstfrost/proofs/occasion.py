"""Small helpers that the judges share."""

from __future__ import annotations

from firstfrost.instruments.decide import decide
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Evidence, Limit, Measured, Standing


def evidence(
    standing: Standing,
    start_s: float,
    end_s: float,
    channels: tuple[str, ...],
    what: str,
    *,
    measured: Measured | None = None,
    limit: Limit | None = None,
    probability: float | None = None,
) -> Evidence:
    """Write down one occasion."""
    return Evidence(
        standing=standing,
        start_s=start_s,
        end_s=end_s,
        channels=channels,
        what=what,
        measured=measured,
        limit=limit,
        probability=probability if probability is None or probability == probability else None,
    )


def by_probability(probability: float) -> Standing:
    """`shown`, `failed` or `doubtful` by the guarded rule."""
    return {"holds": "shown", "fails": "failed", "cannot tell": "doubtful"}[decide(probability)]  # type: ignore[return-value]


def plate(context: Context, setting: str) -> str:
    """Say where a setting of the unit comes from."""
    if context.unit.is_default(setting):
        return f"default for {setting}: not in the unit file"
    return f"rating plate or board ({setting} in the unit file)"
