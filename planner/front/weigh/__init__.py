"""The Weigh page: what does the trailer really put on my truck?"""
