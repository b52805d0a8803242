"""The survey file: read, checked, converted to millimetres, mm/m and °C."""
