from .description import Process as Process
from .description import Stream as Stream
from .description import describe as describe
from .movement import Steadiness as Steadiness
from .movement import steadiness as steadiness
from .points import OutPoint as OutPoint
from .tags import Tags as Tags
