"""The front door: the learner's own copy of the workbook, and JupyterLab opened on it."""
