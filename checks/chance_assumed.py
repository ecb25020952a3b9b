"""The same cranks, the same sheets, with another assumption told to the program under `[assumed]`.

What moves the figures when it is halved or doubled is what a shop should learn about its own cranks first.
"""

# Name, table of the sheet, and its keys; a value with "in" is a length in inches, times the engine's scale.
VARIED = {
    "level half": ("assumed", {"level": (0.00075, "in")}),
    "level twice": ("assumed", {"level": (0.003, "in")}),
    "one_sided 0.5 to 0.75": ("assumed", {"one_sided": [0.5, 0.75]}),
    "one_sided 0.75 to 1": ("assumed", {"one_sided": [0.75, 1.0]}),
    "other_step 0.005": ("assumed", {"other_step": 0.005}),
    "other_step 0.15": ("assumed", {"other_step": 0.15}),
    "bow half": ("assumed", {"bow": (0.0002, "in")}),
    "bow twice": ("assumed", {"bow": (0.0008, "in")}),
    "hidden form half": ("assumed", {"hidden_form": (0.00004, "in"), "hidden_share": 0.04}),
    "hidden form twice": ("assumed", {"hidden_form": (0.00016, "in"), "hidden_share": 0.16}),
    "set_up_error half": ("policy", {"set_up_error": (0.00015, "in")}),
    "set_up_error twice": ("policy", {"set_up_error": (0.0006, "in")}),
}


def put(sheet, name, scale):
    """The assumption written into a sheet."""
    table, keys = VARIED[name]
    for key, value in keys.items():
        sheet.setdefault(table, {})[key] = round(value[0] * scale, 7) if isinstance(value, tuple) else value
