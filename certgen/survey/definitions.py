"""The definitions of the units that a survey may be written in, for the units library.

The library's own list holds a thousand units and costs more time to read than a whole survey; these are
the ones that certgen knows, and a test holds each against that list. Source: NIST SP 811 (2008), appendix B
(inch, foot, pound and standard gravity are exact), SI Brochure, 9th edition, for the prefixes.
"""

DEFINITIONS = """
micro- = 1e-6
milli- = 1e-3
centi- = 1e-2
kilo- = 1e3
mega- = 1e6
giga- = 1e9
meter = [length]
second = [time]
kilogram = [mass]
kelvin = [temperature]; offset: 0
radian = []
inch = 0.0254 * meter
foot = 12 * inch
thou = 1e-3 * inch
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF
arcsecond = 3.14159265358979323846264338327950288419716939937510 / 648000 * radian
newton = kilogram * meter / second ** 2
pascal = newton / meter ** 2
pound = 0.45359237 * kilogram
force_pound = 9.80665 * pound * meter / second ** 2
psi = force_pound / inch ** 2
""".strip().splitlines()
