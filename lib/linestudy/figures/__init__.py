"""Pictures: one file or folder for each package; each draws what it is handed and computes nothing.

All take the finding (or the numbers) they draw, and ``ax``: the axes to draw into, a new picture when absent. They
return the :class:`~linestudy.results.picture.Picture`, or the figure that the axes belong to. What more one can show,
such as the events of a run, is given by keyword and described where it is.
"""
