"""Results from measurements on their own: time study, control chart, sampling plan, gauge study, a counted kit."""
