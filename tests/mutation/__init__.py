"""Small mistakes put into deciding code, one at a time: which of them does a test notice?"""
