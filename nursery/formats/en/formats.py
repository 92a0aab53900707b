"""How days and times are written: one way on every page, with 24 hours."""

TIME_FORMAT = "H:i"
DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j M Y, H:i"
YEAR_MONTH_FORMAT = "F Y"
MONTH_DAY_FORMAT = "j F"
SHORT_DATE_FORMAT = "j M Y"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
