"""Pages on paper and screen: the terminal's ledger, the report in HTML and PDF."""

from firstfrost.report.terminal import ledger_text
from firstfrost.report.write import write_report

__all__ = ["ledger_text", "write_report"]
