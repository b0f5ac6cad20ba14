from .opening import open_form as open_form
from .opening import own_folder as own_folder
