"""Training of the room network; needs the extra ``train`` (torch), which nothing else imports."""
