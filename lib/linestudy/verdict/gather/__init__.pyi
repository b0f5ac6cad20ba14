from .circumstances import circumstances_of as circumstances_of
from .gauge import gauge_facts as gauge_facts
from .judgement import judgement_facts as judgement_facts
from .run_readings import Readings as Readings
from .run_readings import judged_by as judged_by
from .run_readings import readings_of as readings_of
