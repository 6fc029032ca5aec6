"""What a text must look like, where its kind alone does not say it: the same for the description and for what is refused.

A digit is written [0-9]: \\d would be one of any script to Python, and one of ASCII to a reader of JSON Schema.
"""

# A text that holds more than what is trimmed away: Python trims some marks of old devices too, which `\s` need not mean.
NOT_BLANK = r"^[^\x00]*[^\s\x00\x1c-\x1f\x85][^\x00]*$"
YEARS = r"^(19|20|21)[0-9][0-9]-"  # `jobsite.fields.FIRST_YEAR` to LAST_YEAR
# Of an instant a year less at each end: an offset may lead into the next one.
YEARS_OF_INSTANTS = r"^(190[1-9]|19[1-9][0-9]|20[0-9][0-9]|21[0-8][0-9]|219[0-8])-"
TIME = r"^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9](\.[0-9]{1,6})?)?$"  # of the day, as a clock on the wall shows it
DATE = r"^[0-9]{4}-[0-9][0-9]-[0-9][0-9]$"
INSTANT = r"^[0-9]{4}-[0-9][0-9]-[0-9][0-9][T ][0-9][0-9]:[0-9][0-9]:[0-9][0-9](\.[0-9]+)?(Z|[+-][0-9][0-9]:[0-9][0-9])$"  # RFC 3339, section 5.6, in capitals
KEY = r"^[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}$"  # RFC 9562, section 4
NUMBER = r"^-?[0-9]+(\.[0-9]+)?$"  # an exact one, as text
