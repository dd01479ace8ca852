"""The papers of an answer: the report and the station sheets as PDF, the sheets as HTML, and every table as a workbook.

Each function imports what it needs when it is called; PDF needs the extra ``papers``, and says so where it is missing.
"""

from linewright.report.papers.book import workbook
from linewright.report.papers.paper import report_pdf
from linewright.report.papers.sheet import Sheet, sheets
from linewright.report.papers.sheets_html import sheets_html
from linewright.report.papers.sheets_pdf import sheets_pdf

__all__ = ["Sheet", "report_pdf", "sheets", "sheets_html", "sheets_pdf", "workbook"]
