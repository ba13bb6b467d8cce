"""Cross-sections: hands on areas, rigidities, and the elastomer's softening, relaxing moment."""

from flexcalc.section.section import Section, limb_section

__all__ = [
    "Section",
    "limb_section",
]
