from .description import Process as Process
from .description import Stream as Stream
from .description import decision_chart as decision_chart
from .description import describe as describe
from .description import limits_of_streams as limits_of_streams
from .points import OutPoint as OutPoint
from .tags import Tags as Tags
