"""Never change a step that has been published: add one."""
