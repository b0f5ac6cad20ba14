from .description import Process as Process
from .description import Stream as Stream
from .description import describe as describe
from .points import OutPoint as OutPoint
from .tags import Tags as Tags
