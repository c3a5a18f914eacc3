"""Invented vehicles, one a module; `aftercount.rehearse.scenario` says how a procedure text is read."""
