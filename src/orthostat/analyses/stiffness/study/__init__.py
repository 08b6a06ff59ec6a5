"""The study model: in come designs of one plan family, out come modes and compliances in milliseconds.

Learning solves some dozens of columns of the family; what their sections did becomes a small basis. It says
which designs it was learnt on, how far off it was on columns it had not seen, and refuses the others.
"""

from orthostat.analyses.stiffness.study.among import LEAST, learn_among
from orthostat.analyses.stiffness.study.answer import Answer, answer
from orthostat.analyses.stiffness.study.design import StudyDesign, mass_of
from orthostat.analyses.stiffness.study.from_column import study_design
from orthostat.analyses.stiffness.study.learning import learn
from orthostat.analyses.stiffness.study.model import OutsideStudy, StudyModel
from orthostat.analyses.stiffness.study.ranges import Ranges, Span, ranges_about
from orthostat.analyses.stiffness.study.sweeping import Swept, sweep_designs

__all__ = [
    "LEAST",
    "Answer",
    "OutsideStudy",
    "Ranges",
    "Span",
    "StudyDesign",
    "StudyModel",
    "Swept",
    "answer",
    "learn",
    "learn_among",
    "mass_of",
    "ranges_about",
    "study_design",
    "sweep_designs",
]
