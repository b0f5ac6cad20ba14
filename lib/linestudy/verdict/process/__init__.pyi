from .description import Process as Process
from .description import Stream as Stream
from .description import decision_chart as decision_chart
from .description import describe as describe
from .points import OutPoint as OutPoint
from .tags import Tags as Tags
