"""Where the checks look in report.json, and the exit codes: the product's promises, in one place.

A key that is missing is a failed check.
"""
VOLUME = "solid.volume_mm3"
AREA = "solid.area_mm2"
FACES = {"PLANE": "solid.faces.plane", "CYLINDRICAL_SURFACE": "solid.faces.cylinder", "CONICAL_SURFACE": "solid.faces.cone"}
GENUS = "mesh.genus"
CHORD = "mesh.chord_mm"

FILES = ("link.finished.stl", "link.trial.stl", "link.step", "report.json")
DONE, RULE_FAILS, FILE_WRONG, NOT_READABLE = 0, 1, 2, 3


def look(report, path):
    node = report
    for key in path.split("."):
        if not isinstance(node, dict) or key not in node:
            raise KeyError(f"report.json has no {path}")
        node = node[key]
    return node
