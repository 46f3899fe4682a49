"""Will a trapped piece go into its place?"""
