"""The cautions that every sheet carries on paper.

Topics: American College of Sports Medicine, pre-participation screening (Riebe
et al. 2015, Medicine & Science in Sports & Exercise 47:2473); warming up, cooling
down and who has the last word are common practice. The sentences are ours.
"""

from __future__ import annotations

CAUTIONS = (
    "Warm up before the work and cool down after it.",
    "Stop at once on chest pain, dizziness, faintness, unusual breathlessness or back pain, "
    "and tell someone.",
    "New to hard exercise, unwell, or with a known heart, metabolic or kidney condition: "
    "ask a clinician first.",
    "What a qualified coach or the rules of the place say goes before this sheet.",
)
