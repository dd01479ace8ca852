"""What everything stands on: units, problems, results, calendars, distributions, the trace record, cautions."""
