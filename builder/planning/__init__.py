"""Planning a class: what it uses up and costs, and who does what when."""
