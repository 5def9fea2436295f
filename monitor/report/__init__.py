"""Proof for owner and insurer: the winter's report, the pack of one alert, and exports. It changes nothing."""

from monitor.report.gather import Shelf as Shelf
from monitor.report.incident import incident_pack as incident_pack
from monitor.report.pdf import report_pdf as report_pdf
from monitor.report.winter import Winter as Winter
from monitor.report.winter import winter_of as winter_of
