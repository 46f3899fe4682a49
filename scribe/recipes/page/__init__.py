"""What the page asks for beyond the commands' recipes; what opens photos runs in a worker."""
